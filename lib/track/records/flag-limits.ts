/** Thresholds of the flags: learned from the field, or set in field.json. */
import type { FieldPlan } from '../../model/index.ts';
import type { Limits } from './flags.ts';

/** Largest relative uncertainty of the width cut by part of the header. */
const WIDTH_KNOWN = 0.07;

/** Least uncertainty of the two edges of a strip, which were cut at different times, maybe by different machines, meters. */
const EDGES_M = 0.15;

/** Fewest rows for a yield where the header takes whole rows, so that one row more or less does not matter too much. */
const ROWS_KNOWN = 4.5;

/**
 * @param wander_m - spread of the seams' overlaps
 * @param noise - standard deviation of a record about its neighbors, relative: a bias below it is not worth a record
 */
export function limits(plan: FieldPlan, usual_kg_s: number, noise: number, wander_m: number, row_m: number): Limits {
	const of = (word: string, value: number) => plan.flags[word] ?? value;
	const bias = Math.min(0.1, Math.max(0.03, noise));
	return {
		standing: of('standing', 0.25),
		turning: of('turning', 0.1),
		filling: of('filling', bias),
		emptying: of('emptying', bias),
		jolt: of('jolt', 1.25 * bias),
		surge: of('surge', Math.max(0.2, 5 * noise)),
		dropout: of('dropout', Math.max(0.2, 5 * noise)),
		flowless: of('flowless', 0.05 * usual_kg_s),
		moistureLow: of('moistureLow', 3),
		moisture: of('moisture', 45),
		narrow: of('narrow', Math.max(Math.max(EDGES_M, wander_m) / WIDTH_KNOWN, row_m > 0 ? ROWS_KNOWN * row_m : 0)),
		recut: of('recut', 0.1),
	};
}
