import { TANK } from '../../model/index.ts';
import { COSTS } from '../problem/costs.ts';
import { type Deduced, firstAfter } from '../problem/deduced.ts';
import { idleRun, type Problem } from '../problem/problem.ts';
import type { Hypothesis, Insert, Place } from './hypothesis.ts';
import { type Level, levelAt, overflow, sinceEmptied } from './levels.ts';
import { lnPhi, normalCost, restCost } from './normal.ts';
import type { Step } from './step.ts';

/** An unloading of unknown time and weight. */
export const UNKNOWN: Insert = { kind: 'unknown', deduced: -1, run: -1, rests: false };

/** Level of a tank just before the dump, after unloadings without a weight, and their cost. */
export interface Before extends Level {
	cost: number;
	inserts: readonly Insert[];
}

/** Where an unloading without a weight is looked for: combine c, up to a place, by the runs that are not used yet. */
interface Gap {
	c: number;
	place: Place;
	free: readonly number[];
	/** Whether a sum of costs can still be among the best. */
	wants: (cost: number) => boolean;
}

/** Runs back that are considered one by one. */
const MOST_RUNS = 40;
/** The final cost may be lower than the sum so far by less than this, nats. */
const SLACK = 5;
/** At most this many tanks are cut between two unloadings. */
const MOST_TANKS = 2;

/**
 * Lists unloadings of tank c without a dump since its previous one: deduced from the cart's level or a ticket (known weight,
 * vague time), or by runs of the auger (known time, unknown weight).
 *
 * @param here - cost of the place; sums that cannot be among the best are not followed
 */
export function unweighed(step: Step, c: number, place: Place, level: Level, here: number): readonly Before[] {
	const { problem, observation, hypothesis, offers } = step;
	const first = hypothesis.nextRun[c] as number;
	const looked = Math.max(first, place.skippedTo - MOST_RUNS);
	const earlier = idleRun(problem) * (looked - first);
	// Most places end here.
	if (looked === place.skippedTo && problem.deduced.length === 0) return NONE;
	if (!offers.wants(here + earlier - SLACK)) return NONE;
	const gap: Gap = {
		c,
		place,
		free: range(looked, place.skippedTo),
		wants: (cost) => offers.wants(here + earlier + cost - SLACK),
	};
	const all: Before[] = [];
	byDeduction(step, gap, level, all);
	byRun(step, gap, all);
	for (const b of all) b.cost += earlier + overflow(problem, c, b, observation.kg);
	return all;
}

const NONE: readonly Before[] = [];

export function range(from: number, to: number): number[] {
	const list: number[] = [];
	for (let k = from; k < to; k++) list.push(k);
	return list;
}

/** Whether deduction p uses a fact that is used already. */
export function isTaken(problem: Problem, { taken }: Pick<Hypothesis, 'taken'>, p: number): boolean {
	for (const f of problem.deduced[p]!.facts) if (taken[f] === 1) return true;
	return false;
}

/** Adds unloadings by one deduction, with a run of the auger or without. */
function byDeduction(step: Step, gap: Gap, level: Level, list: Before[]): void {
	const { problem, table, hypothesis } = step;
	const { c, place, free, wants } = gap;
	const signal = problem.runs[c] !== null;
	const after_s = hypothesis.time_s[c] as number;
	// A deduction's times are the cart's or, for a ticket, right to a quarter of an hour.
	const before_s = place.end_s + 60 - Math.min(table.offset_s, -900);
	const first = firstAfter(problem.deduced, after_s - 60 - Math.max(table.offset_s, 900));
	for (let p = first; p < problem.deduced.length; p++) {
		const deduced = problem.deduced[p]!;
		if (deduced.earliest_s > before_s) break;
		if (deduced.kind === 'excess' || (deduced.combine >= 0 && deduced.combine !== c)) continue;
		if (level.m < deduced.kg * 0.9) continue;
		if (!couldBe(deduced, table.offset_s, after_s, place.end_s)) continue;
		if (isTaken(problem, hypothesis, p)) continue;
		const cost = COSTS.unweighedDeduced + (deduced.combine < 0 ? Math.log(problem.flows.length) : 0);
		if (!wants(cost)) continue;
		list.push(deducedBefore(problem, gap, level, p, cost + (signal ? problem.priors.augerMissed : 0), -1));
		const { offset_s } = table;
		const run = signal ? likeliestRun({ problem, hypothesis, c, deduced, free, unweighed_kg: 0, offset_s }) : null;
		if (run) list.push(deducedBefore(problem, gap, level, p, cost + run.cost, run.run));
	}
}

/** A level after the unloading that deduction p tells of. */
function deducedBefore(problem: Problem, { free }: Gap, { m, v }: Level, p: number, cost: number, run: number): Before {
	const deduced = problem.deduced[p]!;
	const idle = idleRun(problem) * (free.length - (run < 0 ? 0 : 1));
	const inserts: Insert[] = [{ kind: 'deduced', deduced: p, run, rests: false }];
	return { m: m - deduced.kg, v: v + deduced.variance, cost: cost + idle, inserts };
}

/** Adds unloadings by runs of the auger: the last one empties the tank or leaves some grain; earlier ones may be unloadings too. */
function byRun({ problem, hypothesis }: Step, { c, place, free, wants }: Gap, list: Before[]): void {
	const runs = problem.runs[c]?.list;
	if (!runs || free.length === 0) return;
	const k = hypothesis.belief.x[c] as number;
	const some = TANK.restShare * (problem.tank_kg[c] as number);
	const p = problem.priors.emptied;
	const own = problem.priors.unweighedSeen;
	const held = (level: Level): number =>
		overflow(problem, c, level, problem.fill_kg) - lnPhi((level.m - 300) / Math.sqrt(level.v + 10_000));
	const most = problem.wholeLoads ? Number.POSITIVE_INFINITY : MOST_TANKS * (problem.tank_kg[c] as number);
	const idle = idleRun(problem);
	// Per free run: the cheapest way to unload the tank by it, with the runs before it as unloadings or idle.
	const ways: { cost: number; before: number }[] = [];
	free.forEach((r, j) => {
		const run = runs[r]!;
		if (run.end_s - run.start_s < 15 || place.end_s - run.end_s < 30) return;
		const way = { cost: idle * j + own + held(levelAt(problem, hypothesis, c, run.endMass_kg)), before: -1 };
		for (let i = j - 1; i >= 0; i--) {
			const before = ways[i];
			if (!before) continue;
			const fill = k * (run.endMass_kg - runs[free[i] as number]!.endMass_kg);
			if (fill > most) break;
			const cost = before.cost + idle * (j - i - 1) + own + held({ m: fill, v: 40_000 });
			if (cost <= way.cost) Object.assign(way, { cost, before: i });
		}
		ways[j] = way;
		const cost = way.cost + idle * (free.length - j - 1);
		if (!wants(cost)) return;
		const emptied: Insert[] = [];
		for (let i = j; i >= 0; i = ways[i]!.before)
			emptied.unshift({ kind: 'run', deduced: -1, run: free[i] as number, rests: false });
		const kept = [...emptied.slice(0, -1), { ...(emptied.at(-1) as Insert), rests: true }];
		const dM = place.mass_kg - run.endMass_kg;
		const v = sinceEmptied(problem, hypothesis, c, dM, run.flow_kg_s);
		list.push({ m: k * dM, v, cost: cost - Math.log(p), inserts: emptied });
		list.push({ m: k * dM + some, v: v + some * some, cost: cost - Math.log(1 - p), inserts: kept });
	});
}

/** Whether the deduction may be of an unloading between these log times. */
export function couldBe(deduced: Deduced, offset_s: number, after_s: number, before_s: number): boolean {
	if (overlaps(deduced, offset_s, after_s, before_s)) return true;
	// A ticket's time is from the scale's clock, taken as right to 15 minutes; the cart's clock is off by the offset.
	if (deduced.kind !== 'straight') return false;
	return overlaps(deduced, 900, after_s, before_s) || overlaps(deduced, -900, after_s, before_s);
}

const overlaps = ({ from_s, to_s }: Deduced, shift_s: number, after_s: number, before_s: number): boolean =>
	from_s + shift_s <= before_s + 60 && to_s + shift_s >= after_s - 60;

/**
 * The likeliest run by which a known weight left the tank, and its cost relative to an unloading at any time; null where no run
 * is possible. It is cheapest where the tank held this weight; where it held more, grain was left.
 */
export function likeliestRun(input: {
	problem: Problem;
	hypothesis: Hypothesis;
	c: number;
	deduced: Deduced;
	/** Runs that are not used yet. */
	free: readonly number[];
	/** Unloaded without a weight before it. */
	unweighed_kg: number;
	offset_s: number;
}): { run: number; cost: number } | null {
	const { problem, hypothesis, c, deduced, free, unweighed_kg, offset_s } = input;
	const p = problem.priors.emptied;
	const some = TANK.restShare * (problem.tank_kg[c] as number);
	let best: { run: number; cost: number } | null = null;
	for (const r of free) {
		const run = problem.runs[c]!.list[r]!;
		const lasts = run.end_s - run.start_s;
		if (lasts < 15 || !couldBe(deduced, offset_s, run.end_s, run.end_s)) continue;
		const { m, v } = levelAt(problem, hypothesis, c, run.endMass_kg);
		const d = m - unweighed_kg - deduced.kg;
		const spread = v + deduced.variance + TANK.clinging_kg ** 2;
		const gone = normalCost(d, spread) - Math.log(p);
		const kept = restCost(d, spread, some) - Math.log(1 - p);
		const short = lasts < (0.4 * deduced.kg) / TANK.unloading_kg_s ? 1.5 : 0;
		const cost = Math.min(gone, kept) + short - Math.log(problem.fill_kg);
		if (!best || cost < best.cost) best = { run: r, cost };
	}
	return best;
}
