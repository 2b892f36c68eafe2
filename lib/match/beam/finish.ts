import { COSTS } from '../problem/costs.ts';
import { idleRun, type Problem } from '../problem/problem.ts';
import type { Ending, Hypothesis, Insert } from './hypothesis.ts';
import { lnPhi } from './normal.ts';
import { type Level, levelAt, overflow, sinceEmptied } from './tank-levels.ts';
import { range, UNKNOWN } from './unweighed.ts';

/** Completes a hypothesis after the last dump: grain in the tanks and remaining runs of the auger. */
export function finish(problem: Problem, hypothesis: Hypothesis, whole: boolean): Hypothesis {
	const ended: Hypothesis = { ...hypothesis };
	const endings: Ending[] = [];
	ended.endings = endings;
	for (let c = 0; c < problem.flows.length; c++) {
		const f = problem.flows[c]!;
		const level = levelAt(problem, ended, c, f.total_kg);
		const inserts: Insert[] = [];
		const runs = whole ? (problem.runs[c]?.list ?? []) : [];
		const free = range(ended.nextRun[c]!, runs.length);
		const some = 0.3 * problem.fill_kg;
		for (const r of free) {
			const run = runs[r]!;
			const after_kg = f.total_kg - run.endMass_kg;
			const held = level.m - ended.belief.x[c]! * after_kg;
			const unweighed = held > some && run.end_s - run.start_s > 20;
			if (unweighed && problem.priors.unweighedSeen < idleRun(problem) + over(problem, c, level)) {
				inserts.push({ run: r, rests: false });
				ended.cost += problem.priors.unweighedSeen;
				// Emptied then: what is in the tank at the end, and its variance, came in since.
				level.m -= held;
				level.v = sinceEmptied(problem, ended, c, after_kg, run.flow_kg_s);
			} else ended.cost += idleRun(problem);
		}
		const cost = over(problem, c, level);
		if (cost > problem.priors.unweighed) {
			inserts.push(UNKNOWN);
			ended.cost += problem.priors.unweighed;
		} else {
			ended.cost += cost;
		}
		endings.push({ combine: c, level_kg: level.m, inserts });
	}
	return ended;
}

/** Cost of a tank's level at the end of the log: none is usual, negative and more than the tank holds are impossible. */
function over(problem: Problem, c: number, level: Level): number {
	const stays = level.m > 0.3 * problem.fill_kg ? COSTS.endsWithGrain : 0;
	return stays + overflow(problem, c, level, 0) - lnPhi((level.m + 100) / Math.sqrt(level.v + 10_000));
}
