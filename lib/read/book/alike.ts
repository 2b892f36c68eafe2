/** Weights that stand in several rows one after the other. */
import { caution, type Dump, type Note } from '../../model/index.ts';
import { massInBoth } from '../../units/index.ts';

/** Two equal weights in a row happen; this many do not, where weights differ otherwise. */
const LEAST = 3;

/** A caution for one weight in three or more dumps in a row: filled down in a table, or entered again. */
export function sameWeights(dumps: readonly Dump[], file: string, notes: Note[]): void {
	// Weights rounded to whole tons are often equal.
	const different = new Set(dumps.map((d) => d.weight_kg)).size;
	for (let from = 0; from < dumps.length; ) {
		let to = from + 1;
		while (to < dumps.length && dumps[to]!.weight_kg === dumps[from]!.weight_kg) to++;
		if (to - from >= LEAST && 2 * (different - 1) >= dumps.length - (to - from)) {
			notes.push(
				caution(
					`${file}: dumps ${dumps[from]!.id} to ${dumps[to - 1]!.id} (rows ${dumps[from]!.origin.row} to ${dumps[to - 1]!.origin.row}) all have the same weight, ${massInBoth(dumps[from]!.weight_kg)}. Was it copied from one row to the next? Check these weights.`,
				),
			);
		}
		from = to;
	}
}
