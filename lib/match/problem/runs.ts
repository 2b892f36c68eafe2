import { TANK } from '../../model/index.ts';
import { COSTS } from './costs.ts';
import type { Observation } from './observations.ts';
import type { Problem } from './problem.ts';

/** A run much shorter than the weight takes to unload is a bounce of the switch, or a signal that failed midway. */
export function shortRun(run: { start_s: number; end_s: number }, observation: Observation): number {
	const needs = observation.kg / TANK.unloading_kg_s;
	return run.end_s - run.start_s < 0.3 * needs ? COSTS.shortRun : 0;
}

/** Cost of runs that no unloading stands for; `again_s` is the end of an unloading to whose weight they may belong. */
export function falseRuns(problem: Problem, c: number, skipped: readonly number[], again_s: number): number {
	let cost = 0;
	for (const r of skipped) cost += falseRun(problem, c, r, again_s);
	return cost;
}

export function falseRun(problem: Problem, c: number, r: number, again_s: number): number {
	const run = problem.runs[c]![r]!;
	const lasts = run.end_s - run.start_s;
	let cost: number = lasts < 20 ? Math.min(COSTS.augerBlip, problem.priors.augerFalse) : problem.priors.augerFalse;
	// A switch that sticks is no unloading.
	if (lasts > 420) cost = Math.min(cost, 2);
	if (problem.wholeLoads) cost = Math.min(cost, COSTS.loadAgain);
	if (Math.abs(again_s - run.end_s) < 150) cost = Math.min(cost, COSTS.augerAgain);
	return cost;
}

export function range(from: number, to: number): number[] {
	const list: number[] = [];
	for (let k = from; k < to; k++) list.push(k);
	return list;
}
