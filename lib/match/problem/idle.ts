import { COSTS } from './costs.ts';
import type { Problem } from './problem.ts';
import type { Runs } from './runs.ts';

/** Cost of the runs from `from` up to `to`, which no unloading stands for. */
export function falseRuns(problem: Problem, c: number, from: number, to: number): number {
	if (to <= from) return 0;
	const { stuck } = problem.runs[c] as Runs;
	const sticking = stuck[to]! - stuck[from]!;
	return sticking * idle(problem, true) + (to - from - sticking) * idle(problem, false);
}

export function falseRun(problem: Problem, c: number, r: number): number {
	const { stuck } = problem.runs[c] as Runs;
	return idle(problem, stuck[r + 1] !== stuck[r]);
}

function idle(problem: Problem, sticks: boolean): number {
	const cost = sticks ? Math.min(problem.priors.augerFalse, 2) : problem.priors.augerFalse;
	return problem.wholeLoads ? Math.min(cost, COSTS.loadAgain) : cost;
}
