import { TANK } from '../../model/index.ts';
import { idleRun } from '../problem/problem.ts';
import type { Insert, Place } from './hypothesis.ts';
import { lnPhi } from './normal.ts';
import type { Step } from './step.ts';
import { type Level, levelAt, overflow, sinceEmptied } from './tank-levels.ts';

/** An unloading of unknown time and weight. */
export const UNKNOWN: Insert = { run: -1, rests: false };

/** Level of a tank just before the dump, after unloadings without a weight, and their cost. */
export interface Before extends Level {
	cost: number;
	inserts: readonly Insert[];
}

/** Runs back that are considered one by one. */
const MOST_RUNS = 40;
/** The final cost may be lower than the sum so far by less than this, nats. */
const SLACK = 5;

/**
 * Lists unloadings of tank c without a dump since its previous one, by runs of the auger (known time, unknown weight): the last
 * one empties the tank or leaves some grain; earlier ones may be unloadings too.
 *
 * @param here - cost of the place; sums that cannot be among the best are not followed
 */
export function unweighed(step: Step, c: number, place: Place, here: number): readonly Before[] {
	const { problem, observation, hypothesis, offers } = step;
	const runs = problem.runs[c]?.list;
	const first = hypothesis.nextRun[c]!;
	const looked = Math.max(first, place.skippedTo - MOST_RUNS);
	const idle = idleRun(problem);
	const earlier = idle * (looked - first);
	// Most places end here.
	if (!runs || looked === place.skippedTo || !offers.wants(here + earlier - SLACK)) return NONE;
	const free = range(looked, place.skippedTo);
	const list: Before[] = [];
	const k = hypothesis.belief.x[c]!;
	const some = TANK.restShare * problem.tank_kg[c]!;
	const p = TANK.emptied;
	const own = problem.priors.unweighedSeen;
	const held = (level: Level): number =>
		overflow(problem, c, level, problem.fill_kg) - lnPhi((level.m - 300) / Math.sqrt(level.v + 10_000));
	// Per free run: the cheapest way to unload the tank by it, with the runs before it as unloadings or idle.
	const ways: { cost: number; before: number }[] = [];
	free.forEach((r, j) => {
		const run = runs[r]!;
		if (run.end_s - run.start_s < 30 || place.end_s - run.end_s < 30) return;
		const way = { cost: idle * j + own + held(levelAt(problem, hypothesis, c, run.endMass_kg)), before: -1 };
		for (let i = j - 1; i >= 0; i--) {
			const before = ways[i];
			if (!before) continue;
			const fill = k * (run.endMass_kg - runs[free[i]!]!.endMass_kg);
			const cost = before.cost + idle * (j - i - 1) + own + held({ m: fill, v: 40_000 });
			if (cost <= way.cost) Object.assign(way, { cost, before: i });
		}
		ways[j] = way;
		const cost = way.cost + idle * (free.length - j - 1);
		if (!offers.wants(here + earlier + cost - SLACK)) return;
		const emptied: Insert[] = [];
		for (let i = j; i >= 0; i = ways[i]!.before) emptied.unshift({ run: free[i]!, rests: false });
		const kept = [...emptied.slice(0, -1), { ...emptied.at(-1)!, rests: true }];
		const dM = place.mass_kg - run.endMass_kg;
		const v = sinceEmptied(problem, hypothesis, c, dM, run.flow_kg_s);
		list.push({ m: k * dM, v, cost: cost - Math.log(p), inserts: emptied });
		list.push({ m: k * dM + some, v: v + some * some, cost: cost - Math.log(1 - p), inserts: kept });
	});
	for (const b of list) b.cost += earlier + overflow(problem, c, b, observation.kg);
	return list;
}

const NONE: readonly Before[] = [];

export function range(from: number, to: number): number[] {
	const list: number[] = [];
	for (let k = from; k < to; k++) list.push(k);
	return list;
}
