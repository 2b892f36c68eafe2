import { CART, type Match, stepsByCart } from '../../model/index.ts';
import { align } from '../beam/align.ts';
import { factorChange } from '../beam/belief.ts';
import { FOUND_S } from '../beam/effort.ts';
import type { Hypothesis } from '../beam/hypothesis.ts';
import type { Explained } from '../explained.ts';
import { emptyTable } from '../problem/problem.ts';
import type { Supposition } from './supposition.ts';

/** Hypotheses kept after each dump. */
const WIDTH = 12;

/**
 * The field with all that the cart weighed from some moment on brought back to the scale before it: a load cell that fails takes a
 * quarter or a third of the weight. The moment and the share are those of the best hypothesis in which all factors may
 * change together once. Only the match is made with these weights: the factors find out whether the scale changed or the
 * monitors did, and have the caution.
 */
export function changedScale({ input, problem, offset, solved }: Explained): Supposition[] {
	const { book } = input;
	const [steps = [], ...more] = stepsByCart(book);
	if (more.length > 0 || !problem.observations.every((o) => Number.isFinite(o.time_s))) return [];
	const all = align(problem, emptyTable(offset.at_s, false), {
		width: WIDTH,
		whole: true,
		clock_s: FOUND_S,
		scaleChanges: true,
	});
	const best = all.find((h) => h.changed >= 0);
	const { flows, observations } = problem;
	const hours = (Math.max(...flows.map((f) => f.end_s)) - Math.min(...flows.map((f) => f.start_s))) / 3600;
	// Of as many moments as there are dumps, over a field of so many hours.
	const price = Math.log(observations.length) - Math.log(Math.min(0.5, hours / CART.change_h));
	if (!best || best.cost + price > solved.hypothesis.cost) return [];
	let before: Hypothesis = best;
	while (before.assignment && before.assignment.observation >= best.changed) before = before.parent!;
	const share = factorChange(before.belief, best.belief);
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
