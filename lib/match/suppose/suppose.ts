import { align } from '../beam/align.ts';
import { FOUND_S } from '../beam/effort.ts';
import { assignmentsOf, costsOf } from '../beam/hypothesis.ts';
import { offsetCost } from '../clock/find-clock.ts';
import { type Explained, STRAIN } from '../explained.ts';
import { prepare } from '../problem/prepare.ts';
import { isTimed, loadsPrice, priceWeighed } from '../problem/problem.ts';
import { withoutTimes } from './other-order.ts';
import { otherTanks } from './other-tanks.ts';
import { jumpOf, otherUnits } from './other-units.ts';
import { otherLogClocks } from './otherclock.ts';
import { runningWeights } from './running-weights.ts';
import { shiftedRows } from './shifted-rows.ts';
import { shortages, shortDumps } from './shortages.ts';
import type { Supposition } from './supposition.ts';
import { unitOfPart } from './unitchange.ts';
import { withoutNames } from './unnamed.ts';
import { withoutLog } from './without-log.ts';
import { mostlyKept, withoutNotes } from './without-notes.ts';
import { byTimes, intervalsContradict } from './wrong-intervals.ts';

/** Where a smaller share of the grain seems to be weighed, the weights are few, which shows no error, or in another unit. */
const SOME = 0.55;
/** Largest log factor of a monitor before suppositions are tried. */
const FAR = 0.22;
/** Most suppositions that are solved in full. */
const CLOSELY = 2;
/** Suppositions that cost this much more than the plain explanation in a quick search are dropped, nats. */
const HOPELESS = 30;
/** The quick search stops where it costs this much more than the plain explanation up to the same dump, nats. */
const BEHIND = 40;
const WIDTH = 8;

/** Whether the plain explanation fits so badly that suppositions are worth trying. */
export function strained(plain: Explained): boolean {
	const { problem, solved } = plain;
	const n = problem.observations.length;
	if (n === 0) return false;
	if (problem.priors.weighed < SOME) return true;
	const odd = assignmentsOf(solved.hypothesis).filter((a) => {
		const observation = problem.observations[a.observation]!;
		const mislabeled =
			observation.noted &&
			observation.mixed.length === 0 &&
			a.parts.some((p) => !observation.combines.includes(p.combine));
		return a.kind === 'foreign' || a.kind === 'outlier' || mislabeled;
	}).length;
	if (odd >= Math.max(2, 0.1 * n)) return true;
	if (solved.factor.some((k) => !(Math.abs(Math.log(k)) < FAR))) return true;
	if (shortages(plain.input.book).length > 0) return true;
	if (mostlyKept(plain.input.book.dumps)) return true;
	if (intervalsContradict(plain.input) || problem.flows.some((_, c) => jumpOf(plain.input, c))) return true;
	// An error may begin within the day.
	const early = costsOf(solved.hypothesis, n)[n >> 1] as number;
	return Math.max(early / (1 + (n >> 1)), (solved.hypothesis.cost - early) / (n - (n >> 1))) > STRAIN;
}

/** The suppositions that are worth solving in full, by a quick search under each. */
export function suppositions(plain: Explained): Supposition[] {
	const kinds = [
		shortDumps,
		runningWeights,
		otherTanks,
		otherUnits,
		byTimes,
		unitOfPart,
		withoutNames,
		withoutNotes,
		otherLogClocks,
		shiftedRows,
		withoutLog,
		withoutTimes,
	];
	const all = kinds.flatMap((kind) => kind(plain));
	const near = [plain.offset.at_s, 0];
	const costs = costsOf(plain.solved.hypothesis, plain.problem.observations.length);
	return all
		.map((s) => ({ s, cost: quickSearch(s, plain, [...near, ...(s.offsets ?? [])], costs) }))
		.filter((o) => o.cost < plain.cost + HOPELESS)
		.sort((a, b) => a.cost - b.cost)
		.slice(0, CLOSELY)
		.map((o) => o.s);
}

/** Cost of a supposition by a quick search; `soFar` is the plain explanation's cost up to each dump. */
function quickSearch(s: Supposition, plain: Explained, offsets: readonly number[], soFar: Float64Array): number {
	const { problem } = prepare(s.input, plain);
	const price = s.price + (plain.supposed?.price ?? 0) + loadsPrice(problem);
	const timed = isTimed(problem);
	let best = Infinity;
	for (const o of timed ? new Set(offsets) : [0]) {
		const own = price + priceWeighed(problem.observations.length, problem.priors.weighed) + (timed ? offsetCost(o) : 0);
		const limit = (i: number): number => Math.min(best - own, (soFar[i] ?? Infinity) + BEHIND);
		const found = align(problem, o, { width: WIDTH, whole: true, clock_s: FOUND_S, limit })[0];
		const whole = found?.assignment?.observation === problem.observations.length - 1;
		if (found && whole) best = Math.min(best, found.cost + own);
	}
	return best;
}
