/** Thresholds of the flags: learned from the field, overruled by what field.json says. */
import type { FieldPlan } from '../../model/index.ts';
import type { Limits } from './flags.ts';

/** Relative uncertainty of a part header's width that a record may have. */
const WIDTH_KNOWN = 0.07;

/** How well the two edges of a strip are known at best, meters: they were cut at other times, maybe by others. */
const EDGES_M = 0.15;

/** Where whole rows are taken, one row more or less must not weigh too much: fewer rows than this are too few. */
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
