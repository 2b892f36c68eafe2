import { TANK } from '../../model/index.ts';
import { COSTS } from '../problem/costs.ts';
import { type Deduced, firstAfter } from '../problem/deduced.ts';
import { falseRun, falseRuns } from '../problem/idle.ts';
import type { Problem } from '../problem/problem.ts';
import type { Hypothesis, Insert, Place } from './hypothesis.ts';
import { flowNoise, levelAt, overflow, sinceEmptied } from './levels.ts';
import { lnPhi, normalCost, restCost } from './normal.ts';
import type { Step } from './step.ts';

/** Gone at a moment which nothing tells, and of a weight that nothing tells. */
export const UNKNOWN: Insert = { kind: 'unknown', deduced: -1, run: -1, rests: false };

/** Tank c just before the dump, what left it unweighed taken out, and what that costs. */
export interface Before {
	m: number;
	v: number;
	cost: number;
	inserts: readonly Insert[];
	/** Runs of the auger that nothing stands for yet: the latest of them, which are looked at one by one. */
	free: readonly number[];
}

/** So many runs back are looked at one by one. */
const MOST_RUNS = 40;

/** What has been added up may yet be made cheaper by less than this, nats. */
const SLACK = 5;

/**
 * What may have left tank c since its previous unloading without a row: as the cart's level or a ticket tells (the
 * weight is known, the moment hardly matters), by a run of the auger (the moment is known, the weight is not), or
 * both, one after the other.
 *
 * @param here what the place costs: ways to which nothing is worth adding are not followed
 */
export function unweighed(step: Step, c: number, place: Place, m: number, v: number, here: number): Before[] {
	const { problem, observation, hypothesis } = step;
	const first = hypothesis.nextRun[c] as number;
	const looked = Math.max(first, place.skippedTo - MOST_RUNS);
	const free = range(looked, place.skippedTo);
	if (free.length === 0 && problem.deduced.length === 0) return [];
	const carried: Before = { m, v, cost: falseRuns(problem, c, first, looked), inserts: [], free };
	const context = { ...step, c, place, wants: (cost: number) => step.offers.wants(here + cost - SLACK) };
	if (!context.wants(carried.cost)) return [];
	const once = takeDeduced(context, carried, -1);
	// Two in a row need the grain of both.
	const twice = once.flatMap((b) => (b.m > 0.3 * observation.kg ? takeDeduced(context, b, last(b)) : []));
	const resets = [carried, ...once].flatMap((b) => runOut(context, b));
	const after = resets.flatMap((b) => (b.m > 1.2 * observation.kg ? takeDeduced(context, b, -1) : []));
	const all = [...once, ...twice, ...resets, ...after];
	for (const b of all) {
		for (const r of b.free) b.cost += falseRun(problem, c, r);
		b.cost += overflow(problem, c, b.m, b.v, observation.kg);
	}
	return all;
}

export function range(from: number, to: number): number[] {
	const list: number[] = [];
	for (let k = from; k < to; k++) list.push(k);
	return list;
}

/** Does deduction p read a fact that has found its place already? */
export function isTaken(problem: Problem, { taken }: Pick<Hypothesis, 'taken'>, p: number): boolean {
	return problem.deduced[p]!.facts.some((f) => taken[f] === 1);
}

/** Does it share a fact with one of these? */
function clashes(problem: Problem, inserts: readonly Insert[], p: number): boolean {
	const { facts } = problem.deduced[p]!;
	return inserts.some((i) => i.deduced >= 0 && problem.deduced[i.deduced]!.facts.some((f) => facts.includes(f)));
}

interface Context extends Step {
	c: number;
	place: Place;
	wants(cost: number): boolean;
}

const last = (b: Before): number => b.inserts[b.inserts.length - 1]?.deduced ?? -1;

/** One deduction taken up, of those after `from`; by a run of the auger, or by none. */
function takeDeduced({ problem, table, c, place, hypothesis, wants }: Context, b: Before, from: number): Before[] {
	const list: Before[] = [];
	const signal = problem.runs[c] !== null;
	const after_s = hypothesis.time_s[c] as number;
	// A deduction's times are the cart's or, by a ticket, right to a quarter of an hour.
	const first = firstAfter(problem.deduced, after_s - 60 - Math.max(table.offset_s, 900));
	const before_s = place.end_s + 60 - Math.min(table.offset_s, -900);
	for (let p = Math.max(from + 1, first); p < problem.deduced.length; p++) {
		const deduced = problem.deduced[p]!;
		if (deduced.earliest_s > before_s) break;
		if (deduced.combine >= 0 && deduced.combine !== c) continue;
		if (b.m < deduced.kg * 0.9) continue;
		if (!couldBe(deduced, table.offset_s, after_s, place.end_s)) continue;
		if (isTaken(problem, hypothesis, p) || clashes(problem, b.inserts, p)) continue;
		const small = deduced.kg < 0.4 * problem.fill_kg ? COSTS.smallUnloading : 0;
		const which = deduced.combine < 0 ? Math.log(problem.flows.length) : 0;
		const cost = b.cost + small + which + COSTS.unweighedDeduced;
		if (!wants(cost)) continue;
		const take = (more: number, run: number): Before => ({
			m: b.m - deduced.kg,
			v: b.v + deduced.variance,
			cost: cost + more,
			inserts: [...b.inserts, { kind: 'deduced', deduced: p, run, rests: false }],
			free: run < 0 ? b.free : b.free.filter((r) => r !== run),
		});
		list.push(take(signal ? problem.priors.augerMissed : 0, -1));
		const run = signal ? likeliestRun(problem, hypothesis, c, deduced, b, table.offset_s) : null;
		if (run) list.push(take(run.cost, run.run));
	}
	return list;
}

/** More than so many tanks were never cut between two unloadings in a row. */
const MOST_TANKS = 2;

/** The tank emptied by a run of the auger, whole or nearly; runs before it may be unloadings too. */
function runOut({ problem, c, place, hypothesis, wants }: Context, b: Before): Before[] {
	const runs = problem.runs[c]?.list;
	if (!runs || b.free.length === 0 || !wants(b.cost)) return [];
	const list: Before[] = [];
	const k = hypothesis.belief.x[c] as number;
	const some = TANK.restShare * (problem.tank_kg[c] as number);
	const p = problem.priors.emptied;
	const own = problem.priors.unweighedSeen;
	const taken = Math.max(-1, ...b.inserts.map((i) => i.run));
	const gone = b.inserts.reduce((sum, i) => sum + (problem.deduced[i.deduced]?.kg ?? 0), 0);
	const held = (m: number, v: number): number =>
		overflow(problem, c, m, v, problem.fill_kg) - lnPhi((m - 300) / Math.sqrt(v + 10_000));
	const most = problem.wholeLoads ? Number.POSITIVE_INFINITY : MOST_TANKS * (problem.tank_kg[c] as number);
	const idle = [0];
	for (const r of b.free) idle.push((idle.at(-1) as number) + falseRun(problem, c, r));
	// Per free run: the cheapest way to have the tank unloaded by it, runs before it unloadings as well or idle.
	const ways: { cost: number; before: number }[] = [];
	b.free.forEach((r, j) => {
		const run = runs[r]!;
		if (r < taken || run.end_s - run.start_s < 15 || place.end_s - run.end_s < 30) return;
		const { m, v: v0 } = levelAt(problem, hypothesis, c, run.endMass_kg);
		const way = { cost: (idle[j] as number) + own + held(m - gone, v0), before: -1 };
		for (let i = j - 1; i >= 0; i--) {
			const before = ways[i];
			if (!before) continue;
			const fill = k * (run.endMass_kg - runs[b.free[i] as number]!.endMass_kg);
			if (fill > most) break;
			const cost = before.cost + (idle[j] as number) - (idle[i + 1] as number) + own + held(fill, 40_000);
			if (cost <= way.cost) Object.assign(way, { cost, before: i });
		}
		ways[j] = way;
		const cost = b.cost + way.cost;
		// Of the runs after it one may be another unloading.
		const after = (idle.at(-1) as number) - (idle[Math.min(j + 2, b.free.length)] as number);
		if (!wants(cost + after)) return;
		const free = b.free.slice(j + 1);
		const inserts: Insert[] = [];
		for (let i = j; i >= 0; i = ways[i]!.before)
			inserts.unshift({ kind: 'run', deduced: -1, run: b.free[i] as number, rests: false });
		const dM = place.mass_kg - run.endMass_kg;
		const v = sinceEmptied(problem, hypothesis, c, dM, run.flow_kg_s);
		const emptied = [...b.inserts, ...inserts];
		const kept = [...emptied.slice(0, -1), { ...(emptied.at(-1) as Insert), rests: true }];
		list.push({ m: k * dM, v, cost: cost - Math.log(p), inserts: emptied, free });
		list.push({ m: k * dM + some, v: v + some * some, cost: cost - Math.log(1 - p), inserts: kept, free });
	});
	return list;
}

/** May the deduction be of an unloading between these log times? */
export function couldBe(deduced: Deduced, offset_s: number, after_s: number, before_s: number): boolean {
	const within = (shift: number): boolean =>
		deduced.from_s + shift <= before_s + 60 && deduced.to_s + shift >= after_s - 60;
	// A certified scale keeps its own time, which is usually right; the cart's is off by the offset.
	return within(offset_s) || (deduced.kind === 'straight' && (within(900) || within(-900)));
}

/**
 * The run by which a known weight left the tank, and its cost against an unloading at any moment: likeliest where the
 * tank held just that; with more in it a rest stayed. null without any run.
 */
export function likeliestRun(
	problem: Problem,
	hypothesis: Hypothesis,
	c: number,
	deduced: Deduced,
	b: Pick<Before, 'free' | 'inserts'>,
	offset_s: number,
): { run: number; cost: number } | null {
	const runs = problem.runs[c]?.list ?? [];
	const p = problem.priors.emptied;
	const some = TANK.restShare * (problem.tank_kg[c] as number);
	const before = b.inserts[b.inserts.length - 1];
	const after = before?.run ?? -1;
	let best: { run: number; cost: number } | null = null;
	for (const r of b.free) {
		const run = runs[r]!;
		const lasts = run.end_s - run.start_s;
		if (r < after || lasts < 15 || !couldBe(deduced, offset_s, run.end_s, run.end_s)) continue;
		let { m, v } = levelAt(problem, hypothesis, c, run.endMass_kg);
		for (const insert of b.inserts) {
			if (insert.kind === 'deduced') m -= problem.deduced[insert.deduced]!.kg;
			else if (insert.kind === 'run') {
				const dM = run.endMass_kg - runs[insert.run]!.endMass_kg;
				m = (hypothesis.belief.x[c] as number) * dM + (insert.rests ? some : 0);
				v = flowNoise(problem, dM, 1) + (insert.rests ? some * some : 0);
			}
		}
		const d = m - deduced.kg;
		const spread = v + deduced.variance + TANK.clinging_kg ** 2;
		const gone = normalCost(d, spread) - Math.log(p);
		const kept = restCost(d, spread, some) - Math.log(1 - p);
		const short = lasts < (0.4 * deduced.kg) / TANK.unloading_kg_s ? 1.5 : 0;
		const cost = Math.min(gone, kept) + short - Math.log(problem.fill_kg);
		if (!best || cost < best.cost) best = { run: r, cost };
	}
	return best;
}
