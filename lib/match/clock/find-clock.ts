import { CLOCK } from '../../model/index.ts';
import { median } from '../../stats/index.ts';
import { align } from '../beam/align.ts';
import { costsOf } from '../beam/hypothesis.ts';
import { COSTS } from '../problem/costs.ts';
import { massAt } from '../problem/mass.ts';
import type { Problem } from '../problem/problem.ts';

/** Estimate of the cart clock's offset. */
export interface ClockFit {
	offset_s: number;
	u_s: number;
	/** Offsets tried with the cost of the best hypothesis at each, for a plot. */
	tried: { offset_s: number; cost: number }[];
	/** Other offsets that fit nearly as well. */
	others: number[];
}

const REACH_S = 12 * 3600;
const DAY_S = 86_400;
const COARSE_S = 90;
/** The search at an offset stops once it costs this much more than the best did up to the same dump, nats. */
const HOPELESS = 40;
/** Hypotheses kept while local minima are searched, and at the lowest of them. */
const CLOSE = 12;
const CLOSEST = 40;

/** Prior cost of an offset, nats: usually near zero, sometimes whole or half hours, rarely anything else or on another day. */
export function offsetCost(offset_s: number): number {
	const days = Math.round(offset_s / DAY_S);
	if (days !== 0) return COSTS.clockDay + offsetCost(offset_s - days * DAY_S);
	const near = (d: number, s: number): number => Math.exp((-d * d) / (2 * s * s)) / s;
	const s = CLOCK.drift_s;
	const half = Math.round(offset_s / 1800) * 1800;
	// There are 48 half hours in a day; any other offset is uniform within it.
	const density =
		0.9 * (0.8 * near(offset_s, s) + 0.2 * near(offset_s, 4 * s)) +
		Math.exp(-COSTS.clockHour) * (near(offset_s - half, s) / 24) +
		(Math.exp(-COSTS.clockOdd) * Math.sqrt(2 * Math.PI)) / 86_400;
	return -Math.log(density * s);
}

/** Estimates the offset of the cart's clock within ± 12 h of a right or a wrong date, from coarse to fine. */
export function findClock(problem: Problem, report: (share: number) => void): ClockFit {
	const price = pricer(middle(problem));
	const tried = scan(price, (share) => report(0.8 * share), DAY_S * daysOff(problem), race(HOPELESS));
	const [best, ...others] = finest(price, tried);
	report(0.9);
	const fit = refine(best!.offset_s, price, CLOSEST);
	return { ...fit, tried, others: others.map((o) => o.offset_s) };
}

/** Work goes on within this of a dump, s. */
const AT_WORK_S = 2 * 3600;

/** Days to add to the cart's date: 0 unless then, and only then, nearly all dumps fall on working hours of the logs. */
function daysOff({ observations, flows }: Problem): number {
	const times = observations.map((s) => s.time_s).filter(Number.isFinite);
	const share = (days: number) =>
		times.filter((t) =>
			flows.some((f) => massAt(f, t + days * DAY_S + AT_WORK_S) > massAt(f, t + days * DAY_S - AT_WORK_S)),
		).length / times.length;
	if (!(share(0) < 0.6)) return 0;
	const apart = Math.round((median(flows.map((f) => (f.start_s + f.end_s) / 2)) - median(times)) / DAY_S);
	return [-1, 1, apart, apart - 1, apart + 1].find((days) => share(days) > 0.9) ?? 0;
}

/** This many consecutive dumps determine the offset as well as all do. */
const ENOUGH = 48;

/** The problem with the middle dumps alone, where there are many. */
function middle(problem: Problem): Problem {
	const n = problem.observations.length;
	const from = Math.floor((n - ENOUGH) / 2);
	if (n <= ENOUGH || !Number.isFinite(problem.observations[from - 1]?.time_s ?? Number.NaN)) return problem;
	return part(problem, from, from + ENOUGH);
}

/** The problem with some consecutive dumps alone. */
function part(problem: Problem, from: number, to: number): Problem {
	const before = problem.observations
		.slice(0, from)
		.reduce((t, s) => (Number.isFinite(s.time_s) ? Math.max(t, s.time_s) : t), -Infinity);
	return {
		...problem,
		observations: problem.observations.slice(from, to),
		after_s: before > -Infinity ? before : null,
		endsEarly: to < problem.observations.length,
	};
}

const FEW = 6;

/**
 * Offsets against each other. The search at one stops where it costs `behind` more than the best has up to the same dump, or
 * more than `limit` in all, where dumps still to come count with `floor` each; nats.
 */
interface Race {
	behind: number;
	limit: number;
	floor: number;
	/** Cost of the best offset, in all and up to each dump. */
	least: number;
	course: Float64Array | null;
}

const race = (behind: number, limit = Infinity, floor = 0): Race => ({
	behind,
	limit,
	floor,
	least: Infinity,
	course: null,
});

/** Cost at an offset in a race. */
type Price = (offset_s: number, width: number, clock_s: number, race: Race) => number;

/** Computes the cost of the best hypothesis at an offset, the prior cost of the offset included. */
function pricer(problem: Problem): Price {
	return (offset_s, width, clock_s, race) => {
		const own = offsetCost(offset_s);
		// Few dumps get the full search: it is cheap, and every piece of evidence counts.
		const whole = problem.observations.length <= FEW;
		const last = problem.observations.length - 1;
		const { behind, course, floor } = race;
		const limit = (i: number): number =>
			Math.min(race.limit - floor * (last - i), course ? course[i]! + behind : Infinity) - own;
		const best = align(problem, offset_s, { width, whole, clock_s, limit })[0];
		if (!best) return Infinity;
		const end = best.assignment?.observation ?? -1;
		const toCome =
			course && end >= 0 ? Math.max(floor * (last - end), race.least - course[end]!) : floor * (last - end);
		const cost = best.cost + own + (end < last ? toCome : 0);
		if (cost < race.least) {
			race.least = cost;
			race.course = costsOf(best, last + 1).map((c) => c + own);
		}
		return cost;
	};
}

/** Tries every offset of the coarse grid. */
function scan(price: Price, report: (share: number) => void, about_s: number, race: Race): ClockFit['tried'] {
	const tried: ClockFit['tried'] = [];
	const count = Math.ceil(REACH_S / COARSE_S);
	// From the middle outward, so that likely offsets come first and the others stop early.
	for (let n = 0; n <= 2 * count; n++) {
		const offset_s = about_s + (n % 2 === 0 ? n / 2 : -(n + 1) / 2) * COARSE_S;
		tried.push({ offset_s, cost: price(offset_s, 3, COARSE_S / 3, race) });
		if (n % 40 === 0) report(n / (2 * count));
	}
	return tried.sort((a, b) => a.offset_s - b.offset_s);
}

/** Local minima that cost this much more than the lowest are dropped, nats. */
const RIVAL = 9;
/** Local minima closer than this count as one, seconds. */
const APART_S = 150;
/** Local minima kept. */
const RIVALS = 5;

interface Tried {
	offset_s: number;
	cost: number;
}

/** The best offsets after a finer search of the lowest local minima, cheapest first; at least one. */
function finest(price: Price, tried: Tried[]): Tried[] {
	const minima = tried
		.filter((t, i) => t.cost <= (tried[i - 1]?.cost ?? Infinity) && t.cost <= (tried[i + 1]?.cost ?? Infinity))
		.sort((a, b) => a.cost - b.cost)
		.slice(0, 10);
	const first = race(HOPELESS);
	const bottoms: Tried[] = [];
	for (const m of minima) {
		for (let d = -60; d <= 60; d += 30)
			bottoms.push({ offset_s: m.offset_s + d, cost: price(m.offset_s + d, CLOSE, 10, first) });
	}
	// A narrow beam overestimates by some nats where grain is left in tanks, so the best few are tried again.
	const deepest = bottoms.sort((a, b) => a.cost - b.cost);
	const near = deepest.slice(0, 5);
	for (const t of valleys(deepest.filter((o) => o.cost < first.least + RIVAL))) if (!near.includes(t)) near.push(t);
	const last = race(HOPELESS);
	const found = near.map(({ offset_s }) => ({ offset_s, cost: price(offset_s, CLOSEST, 10, last) }));
	const kept = valleys(found.sort((a, b) => a.cost - b.cost)).filter((t) => t.cost < last.least + RIVAL);
	return kept.length > 0 ? kept : [{ offset_s: 0, cost: last.least }];
}

/** The local minima of offsets that are sorted by cost. */
function valleys(sorted: readonly Tried[]): Tried[] {
	const kept: Tried[] = [];
	for (const t of sorted) {
		if (kept.length >= RIVALS) break;
		if (kept.every((o) => Math.abs(o.offset_s - t.offset_s) > APART_S)) kept.push(t);
	}
	return kept;
}

/** A longer time between dumps separates two days of work, seconds. */
const NIGHT_S = 5 * 3600;
/** Fewest dumps for an offset of one day. */
const LEAST = 4;
/** Least reduction of a day's cost by an offset of its own, nats. */
const BETTER = COSTS.clockJump + 4;
/** Offsets within this are the same, seconds. */
const SAME_S = 90;
/** The coarse search overestimates a cost by less than this, nats. */
const ASTRAY = 10;

/** Work between two nights: indices into Problem.observations. */
export interface Day {
	observations: number[];
	offset_s: number;
}

/**
 * Estimates an offset for each day, in case the cart's clock was reset between two days. Returns all dumps as one day where
 * there is no evidence of a reset.
 *
 * @param common_s - the one offset that fits all days best
 */
export function clockByDay(problem: Problem, common_s: number): Day[] {
	const days = daysOf(problem);
	const one = [{ observations: days.flat(), offset_s: common_s }];
	if (days.length < 2) return one;
	const looks = days
		.filter((observations) => observations.length >= LEAST)
		.map((observations) => {
			const from = observations[0]!;
			const price = pricer(part(problem, from, from + observations.length));
			const near = race(HOPELESS);
			for (const d of [0, -20, 20]) price(common_s + d, 8, 10, near);
			return { observations, price, here: near.least };
		});
	// Lower bound of a dump's cost: its mean on the day that the common offset fits best.
	const floor = Math.min(...looks.map(({ here, observations }) => here / observations.length));
	const own = new Map<number[], number>();
	for (const { observations, price, here } of looks) {
		const limit = here - BETTER;
		if (floor * observations.length > limit) continue;
		const tried = scan(price, () => {}, 0, race(HOPELESS, limit + ASTRAY, floor)).filter(
			(t) => t.cost <= limit + ASTRAY && Math.abs(t.offset_s - common_s) > SAME_S,
		);
		const best = tried.length > 0 ? finest(price, tried)[0] : undefined;
		if (!best || best.cost > limit || Math.abs(best.offset_s - common_s) <= SAME_S) continue;
		own.set(observations, refine(best.offset_s, price, CLOSE).offset_s);
	}
	if (own.size === 0) return one;
	return days.map((observations) => ({ observations, offset_s: own.get(observations) ?? common_s }));
}

function daysOf(problem: Problem): number[][] {
	const days: number[][] = [];
	let last = -Infinity;
	problem.observations.forEach((s, i) => {
		if (days.length === 0 || (Number.isFinite(s.time_s) && s.time_s - last > NIGHT_S)) days.push([]);
		days[days.length - 1]!.push(i);
		if (Number.isFinite(s.time_s)) last = s.time_s;
	});
	return days;
}

/** Steps from the middle outward. */
const OUTWARD = [0, -1, 1, -2, 2, -3, 3, -4, 4, -5, 5, -6, 6, -7, 7];
/** Offsets that cost this much more than the best have no weight, nats. */
const NO_WEIGHT = 40;

/**
 * Mean and standard uncertainty of the offset near its best value, with weights exp(−cost / 2): half the cost, since the errors
 * of neighboring fills are correlated.
 */
function refine(about_s: number, price: Price, width: number): { offset_s: number; u_s: number } {
	let step_s = 20;
	let costs: { o: number; cost: number }[] = [];
	for (let turn = 0; turn < 3; turn++) {
		const near = race(NO_WEIGHT);
		costs = OUTWARD.map((d) => ({ o: about_s + d * step_s, cost: price(about_s + d * step_s, width, 5, near) }));
		const { least } = near;
		costs.sort((a, b) => a.o - b.o);
		const edge = Math.min((costs[0] as { cost: number }).cost, (costs.at(-1) as { cost: number }).cost);
		const at = costs.find((x) => x.cost === least)?.o;
		if (at === undefined) return { offset_s: about_s, u_s: REACH_S };
		// The range must reach higher costs on both sides; a flat fit needs larger steps.
		if (edge - least > 6) break;
		about_s = at;
		step_s *= 2.5;
	}
	const least = Math.min(...costs.map((x) => x.cost));
	let sum = 0;
	let mean = 0;
	for (const { o, cost } of costs) {
		const w = Math.exp(-(cost - least) / 2);
		sum += w;
		mean += w * o;
	}
	mean /= sum;
	let square = 0;
	for (const { o, cost } of costs) square += Math.exp(-(cost - least) / 2) * (o - mean) ** 2;
	return { offset_s: mean, u_s: Math.sqrt(square / sum + step_s ** 2 / 12) };
}
