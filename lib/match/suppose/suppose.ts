import { align } from '../beam/align.ts';
import { assignmentsOf, type Hypothesis } from '../beam/hypothesis.ts';
import { offsetCost } from '../clock/search.ts';
import { type Explained, STRAIN } from '../explained.ts';
import { prepare } from '../problem/prepare.ts';
import { lookUp } from '../problem/problem.ts';
import { shortage, shortDumps } from './cart.ts';
import { exchangedNames } from './exchanged.ts';
import { otherLogClocks } from './otherclock.ts';
import type { Supposition } from './supposition.ts';
import { otherUnits } from './units.ts';

/** So few weights show no strain whatever is wrong. */
const FEW = 4;
/** Where less than this share seems to be weighed, the weights may be in another unit. */
const SOME = 0.55;
/** A factor this far from 1 (its logarithm) is a strain by itself; a clock off by no whole or half hour is another, nats. */
const FAR = 0.22;
const ODD_CLOCK = 8;
const CLOSE = 4;
/** Suppositions looked at closely. */
const CLOSELY = 2;
/** A supposition that a short look finds this much dearer than the plain explanation is dropped, nats. */
const HOPELESS = 30;
/** One that has fallen so far behind the plain explanation on the way does not come back, nats. */
const BEHIND = 40;
const WIDTH = 8;

/** Does the plain explanation leave so much unexplained that a slip with all weights or a whole log is worth a try? */
export function strained(explained: readonly Explained[]): boolean {
	const [plain, second] = explained as [Explained, Explained?];
	const { problem, solved, offset } = plain;
	const n = problem.observations.length;
	if (n === 0) return false;
	if (n <= FEW || problem.priors.weighed < SOME) return true;
	const odd = assignmentsOf(solved.hypothesis).filter((c) => {
		const observation = problem.observations[c.observation]!;
		const mislabeled =
			observation.noted &&
			observation.mixed.length === 0 &&
			c.parts.some((p) => !observation.combines.includes(p.combine));
		return c.kind === 'foreign' || c.kind === 'nonsense' || mislabeled;
	}).length;
	if (odd >= Math.max(2, 0.1 * n)) return true;
	if (solved.smooth.factor.some((k) => !(Math.abs(Math.log(k)) < FAR))) return true;
	if (offsetCost(offset.at_s) > ODD_CLOCK) return true;
	if (shortage(plain.input.book)) return true;
	// Many weights that leave more than one explanation fit none of them.
	if (second && second.cost - plain.cost < CLOSE) return true;
	return plain.cost / n > STRAIN;
}

/** Suppositions worth a close look, after a short one at each. */
export function suppositions(plain: Explained): Supposition[] {
	const all = [...shortDumps(plain), ...otherUnits(plain), ...exchangedNames(plain), ...otherLogClocks(plain)];
	const near = [plain.offset.at_s, 0];
	const soFar = Float64Array.from(plain.problem.observations, () => Number.POSITIVE_INFINITY);
	for (let r: Hypothesis | null = plain.solved.hypothesis; r?.assignment; r = r.parent)
		soFar[r.assignment.observation] = r.cost;
	return all
		.map((s) => ({ s, cost: shortLook(s, plain, [...near, ...s.offsets], soFar) }))
		.filter((o) => o.cost < plain.cost + HOPELESS)
		.sort((a, b) => a.cost - b.cost)
		.slice(0, CLOSELY)
		.map((o) => o.s);
}

/** @param soFar what the plain explanation costs up to each dump: what falls far behind it is given up */
function shortLook(s: Supposition, plain: Explained, offsets: readonly number[], soFar: Float64Array): number {
	const { problem } = prepare(s.input, plain);
	const timed = problem.observations.some((observation) => Number.isFinite(observation.time_s));
	let best = Number.POSITIVE_INFINITY;
	for (const o of timed ? new Set(offsets) : [0]) {
		const own = s.price + (timed ? offsetCost(o) : 0);
		const limit = (i: number): number => Math.min(best - own, (soFar[i] ?? Infinity) + BEHIND);
		const found = align(problem, lookUp(o, false), { width: WIDTH, whole: true, clock_s: 20, limit })[0];
		const whole = found?.assignment?.observation === problem.observations.length - 1;
		if (found && whole) best = Math.min(best, found.cost + own);
	}
	return best;
}
