import { TANK } from '../../model/index.ts';
import { hypotenuse } from '../../stats/index.ts';
import { type Runs, runAfter } from '../problem/auger-runs.ts';
import { COSTS } from '../problem/costs.ts';
import { flowAround, massAt, timeOfMass } from '../problem/mass.ts';
import { evidence } from '../problem/problem.ts';
import type { Place } from './hypothesis.ts';
import type { Step } from './step.ts';

/** Lists the places at which combine c may have been unloaded for dump i. */
export function placesFor({ problem, table, effort, i, observation, hypothesis }: Step, c: number): Place[] {
	const f = problem.flows[c]!;
	const runs = effort.whole ? (problem.runs[c] ?? null) : null;
	const list: Place[] = [];
	const first = hypothesis.nextRun[c]!;
	const t = table.time_s[i]!;
	const sigma = hypotenuse(observation.sigma_s, effort.clock_s);
	const C = problem.flows.length;
	const clinging = TANK.clinging_kg ** 2;
	if (Number.isFinite(t)) {
		if (t > hypothesis.time_s[c]! + 10) {
			const next = runs ? runAfter(runs, t, first) : first;
			list.push({
				end_s: t,
				mass_kg: table.mass_kg[i * C + c]!,
				slack: clinging + (table.flow_kg_s[i * C + c]! * sigma) ** 2,
				run: -1,
				nextRun: next,
				// No missing signal after the end of the log.
				cost: table.evidence[i * C + c]! + (runs && t < f.end_s ? COSTS.augerMissed : 0),
				skippedTo: next,
			});
		}
		if (runs) {
			const reach = 4 * sigma + 30;
			for (let r = runAfter(runs, t - reach, first); r < runs.list.length; r++) {
				const run = runs.list[r]!;
				if (run.end_s > t + reach) break;
				if (run.end_s < hypothesis.last_s - 45) continue;
				const d = run.end_s - t;
				const density = (0.97 * Math.exp((-d * d) / (2 * sigma * sigma))) / (Math.sqrt(2 * Math.PI) * sigma);
				list.push(atRun(runs, r, table.evidence[i * C + c]! - Math.log(density * 900 + 0.03)));
			}
		}
		return list;
	}
	// Without a time: the next runs of the auger, and the moment at which the tank held this weight.
	const from = Math.max(hypothesis.last_s, observation.from_s + table.offset_s, hypothesis.time_s[c]! + 10);
	const to = observation.to_s + table.offset_s + 60;
	if (runs) {
		const begin = runAfter(runs, from - 30, first);
		for (let r = begin; r < Math.min(runs.list.length, begin + 5); r++) {
			const { end_s } = runs.list[r]!;
			if (end_s > to) break;
			list.push(atRun(runs, r, evidence(problem, c, observation, end_s)));
		}
	}
	const { x } = hypothesis.belief;
	const dM = (observation.kg - x[C + c]!) / x[c]!;
	const begin = Number.isFinite(from) ? Math.max(f.start_s, from) : f.start_s;
	const end_s = Math.min(Math.max(begin, timeOfMass(f, hypothesis.mass_kg[c]! + Math.max(0, dM))), to);
	const next = runs ? runAfter(runs, end_s, first) : first;
	list.push({
		end_s,
		mass_kg: massAt(f, end_s),
		slack: clinging + (0.1 * observation.kg) ** 2,
		run: -1,
		nextRun: next,
		cost: evidence(problem, c, observation, end_s) + (runs ? COSTS.augerMissed : 0),
		skippedTo: next,
	});
	return list;
}

/** The place of run r of the auger: its end, to a few seconds. */
function atRun(runs: Runs, r: number, cost: number): Place {
	const { end_s, endMass_kg, flow_kg_s } = runs.list[r]!;
	const slack = TANK.clinging_kg ** 2 + (flow_kg_s * 4) ** 2;
	return { end_s, mass_kg: endMass_kg, slack, run: r, nextRun: r + 1, cost, skippedTo: r };
}

/** The latest unloading of combine c that a mixed weight can hold: its last run of the auger, or a usual time before; null = none. */
export function mixedPlace(
	{ problem, table, effort, i, observation, hypothesis }: Step,
	c: number,
	tanks: number,
): Place | null {
	const f = problem.flows[c]!;
	const runs = effort.whole ? (problem.runs[c] ?? null) : null;
	const t = table.time_s[i]!;
	if (!Number.isFinite(t)) {
		// Without a time: an equal share of the weight from each; only the sum is observed.
		const share = observation.kg / tanks / hypothesis.belief.x[c]!;
		const end_s = Math.max(hypothesis.time_s[c]!, timeOfMass(f, hypothesis.mass_kg[c]! + share));
		return {
			end_s,
			mass_kg: massAt(f, end_s),
			slack: (0.25 * observation.kg) ** 2,
			run: -1,
			nextRun: hypothesis.nextRun[c]!,
			cost: 0,
			skippedTo: 0,
		};
	}
	const first = hypothesis.nextRun[c]!;
	const next = runs ? runAfter(runs, t + 45, first) : first;
	const run = runs && next > first ? runs.list[next - 1] : undefined;
	if (runs && run && t - run.end_s < 1800) {
		// Runs before the previous weight are not part of this one, so they were not unloadings.
		const idle = Math.min(next - 1, runAfter(runs, hypothesis.last_s - 45, first)) - first;
		const earlier = idle * COSTS.augerFalse + (next - 1 - first - idle) * 0.3;
		// Runs since the previous weight are part of this one.
		return atRun(runs, next - 1, earlier);
	}
	// The cart was at this combine some minutes before the weight was taken; which combine was last is unknown.
	const [before, spread] = problem.wholeLoads ? [150, 200] : [60, 90];
	const end_s = t - before;
	if (end_s < hypothesis.time_s[c]!) return null;
	return {
		end_s,
		mass_kg: massAt(f, end_s),
		slack: TANK.clinging_kg ** 2 + (flowAround(f, end_s, 120) * hypotenuse(spread, observation.sigma_s)) ** 2,
		run: -1,
		nextRun: next,
		cost: runs ? COSTS.augerMissed : 0,
		skippedTo: 0,
	};
}
