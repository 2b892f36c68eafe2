import { COSTS } from './costs.ts';
import type { Problem } from './problem.ts';

/** Cost of runs that no unloading stands for. */
export function falseRuns(problem: Problem, c: number, skipped: readonly number[]): number {
	let cost = 0;
	for (const r of skipped) cost += falseRun(problem, c, r);
	return cost;
}

export function falseRun(problem: Problem, c: number, r: number): number {
	const run = problem.runs[c]![r]!;
	const lasts = run.end_s - run.start_s;
	let cost = problem.priors.augerFalse;
	// A switch that sticks is no unloading.
	if (lasts > 420) cost = Math.min(cost, 2);
	if (problem.wholeLoads) cost = Math.min(cost, COSTS.loadAgain);
	return cost;
}

export function range(from: number, to: number): number[] {
	const list: number[] = [];
	for (let k = from; k < to; k++) list.push(k);
	return list;
}
