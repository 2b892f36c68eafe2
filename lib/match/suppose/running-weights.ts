import { added_kg, stepsByCart } from '../../model/index.ts';
import type { Explained } from '../explained.ts';
import { type Supposition, useWeights } from './supposition.ts';

/** Prior cost of readings of a filling cart in place of each dump's weight, nats. */
const RUNNING = 6;
/** Fewest dumps onto grain that was in the cart already. */
const ENOUGH = 2;

/**
 * The field with each weight less the one before, wherever it is larger: what the cart's display shows while several dumps fill it.
 * Where offloads are entered, they tell this when the log is read.
 */
export function runningWeights({ input }: Explained): Supposition[] {
	const { book } = input;
	if (book.offloads.length > 0) return [];
	const dumps = [...book.dumps];
	for (const steps of stepsByCart(book)) {
		const shown_kg = steps.map(({ dump }) => book.dumps[dump]!.weight_kg);
		added_kg(shown_kg).forEach((weight_kg, i) => {
			const { dump } = steps[i]!;
			dumps[dump] = { ...book.dumps[dump]!, weight_kg };
		});
	}
	const onto = dumps.filter((d, i) => d.weight_kg < book.dumps[i]!.weight_kg);
	if (onto.length < ENOUGH) return [];
	const supposed = { ...input, book: { ...book, dumps } };
	return [
		{
			input: supposed,
			price: RUNNING,
			caution:
				"The weights fit the logs only as readings of a cart that fills up, in which each dump is on top of the ones before. The factors use what each dump added. Enter each dump's own weight.",
			undo: useWeights(supposed),
		},
	];
}
