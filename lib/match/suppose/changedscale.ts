import { type Match, stepsByCart } from '../../model/index.ts';
import { align } from '../beam/align.ts';
import type { Hypothesis } from '../beam/hypothesis.ts';
import type { Explained } from '../explained.ts';
import { emptyTable } from '../problem/problem.ts';
import type { Supposition } from './supposition.ts';

/** Prior cost of a scale that changes for good, nats. */
const CHANGE = 6;
/** Hypotheses kept after each dump. */
const WIDTH = 12;

/**
 * The field with all that the cart weighed from some moment on brought back to the scale before it: a load cell that fails takes a
 * quarter or a third of the weight. The moment and the share are those of the best hypothesis in which all factors may
 * change together once. Only the match is made with these weights: the
 * factors find out whether the scale changed or the monitors did, and have the caution.
 */
export function changedScale({ input, problem, offset, solved }: Explained): Supposition[] {
	const { book } = input;
	const [steps = [], ...more] = stepsByCart(book);
	if (more.length > 0 || !problem.observations.every((o) => Number.isFinite(o.time_s))) return [];
	const all = align(problem, emptyTable(offset.at_s, false), {
		width: WIDTH,
		whole: true,
		clock_s: 20,
		scaleChanges: true,
	});
	const best = all.find((h) => h.changed >= 0);
	const price = CHANGE + Math.log(problem.observations.length);
	if (!best || best.cost + price > solved.hypothesis.cost) return [];
	let after: Hypothesis = best;
	while (after.assignment && after.assignment.observation >= best.changed) after = after.parent!;
	const C = problem.flows.length;
	let log = 0;
	let weight = 0;
	for (let c = 0; c < C; c++) {
		const [k1, k0] = [best.belief.x[c]!, after.belief.x[c]!];
		const w = 1 / (best.belief.P[c * 2 * C + c]! / k1 ** 2 + after.belief.P[c * 2 * C + c]! / k0 ** 2);
		log += w * Math.log(k1 / k0);
		weight += w;
	}
	const share = Math.exp(log / weight);
	const { dump } = problem.observations[best.changed]!;
	const later = steps.slice(steps.findIndex((s) => s.dump === dump));
	const [dumps, offloads] = [new Set(later.map((s) => s.dump)), new Set(later.map((s) => s.offload))];
	const rescaled = <T extends { weight_kg: number }>(rows: readonly T[], of: ReadonlySet<number>): T[] =>
		rows.map((row, i) => (of.has(i) ? { ...row, weight_kg: row.weight_kg / share } : row));
	const scaled = { dumps: rescaled(book.dumps, dumps), offloads: rescaled(book.offloads, offloads) };
	return [
		{
			input: { ...input, book: { ...book, ...scaled } },
			price,
			caution: null,
			offsets: [],
			undo(match: Match): void {
				match.scaleChanged = true;
				for (const w of match.weighings) {
					if (!w.byCart || !w.dumps.some((d) => dumps.has(d))) continue;
					w.weight_kg *= share;
					w.reference_kg *= share;
				}
			},
		},
	];
}
