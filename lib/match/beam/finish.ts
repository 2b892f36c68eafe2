import { COSTS } from '../problem/costs.ts';
import { idleRun, type Problem, type Table } from '../problem/problem.ts';
import { take } from './advance.ts';
import type { Ending, Hypothesis, Insert } from './hypothesis.ts';
import { type Level, levelAt, overflow, sinceEmptied } from './levels.ts';
import { lnPhi } from './normal.ts';
import { couldBe, isTaken, likeliestRun, range } from './unweighed.ts';

/** Completes a hypothesis after the last dump: grain in the tanks, remaining runs of the auger, deductions without a place. */
export function finish(problem: Problem, table: Table, hypothesis: Hypothesis, whole: boolean): Hypothesis {
	const ended: Hypothesis = { ...hypothesis };
	const endings: Ending[] = [];
	ended.endings = endings;
	for (let c = 0; c < problem.flows.length; c++) {
		const f = problem.flows[c]!;
		const level = levelAt(problem, ended, c, f.total_kg);
		const inserts: Insert[] = [];
		let unweighed_kg = 0;
		const runs = whole ? (problem.runs[c]?.list ?? []) : [];
		const free = range(ended.nextRun[c] as number, runs.length);
		for (let p = 0; p < problem.deduced.length; p++) {
			const deduced = problem.deduced[p]!;
			if (deduced.kind === 'excess' || isTaken(problem, ended, p)) continue;
			if ((deduced.combine >= 0 && deduced.combine !== c) || level.m < deduced.kg * 0.9) continue;
			if (!couldBe(deduced, table.offset_s, ended.time_s[c] as number, Number.POSITIVE_INFINITY)) continue;
			const { offset_s } = table;
			const found = likeliestRun({ problem, hypothesis: ended, c, deduced, free, unweighed_kg, offset_s });
			const r = found && found.cost < problem.priors.augerMissed ? found.run : -1;
			if (r >= 0) free.splice(free.indexOf(r), 1);
			take(problem, ended, p);
			ended.cost += COSTS.unweighedDeduced + (deduced.combine < 0 ? Math.log(problem.flows.length) : 0);
			inserts.push({ kind: 'deduced', deduced: p, run: r, rests: false });
			level.m -= deduced.kg;
			unweighed_kg += deduced.kg;
			level.v += deduced.variance;
		}
		const some = 0.3 * problem.fill_kg;
		for (const r of free) {
			const run = runs[r]!;
			const after_kg = f.total_kg - run.endMass_kg;
			const held = level.m - (ended.belief.x[c] as number) * after_kg;
			const unweighed = held > some && run.end_s - run.start_s > 20;
			if (unweighed && problem.priors.unweighedSeen < idleRun(problem) + over(problem, c, level)) {
				inserts.push({ kind: 'run', deduced: -1, run: r, rests: false });
				ended.cost += problem.priors.unweighedSeen;
				// Emptied then: what is in the tank at the end, and its variance, came in since.
				level.m -= held;
				level.v = sinceEmptied(problem, ended, c, after_kg, run.flow_kg_s);
			} else ended.cost += idleRun(problem);
		}
		const cost = over(problem, c, level);
		if (cost > problem.priors.unweighed) {
			inserts.push({ kind: 'unknown', deduced: -1, run: -1, rests: false });
			ended.cost += problem.priors.unweighed;
		} else {
			ended.cost += cost;
		}
		endings.push({ combine: c, level_kg: level.m, inserts });
	}
	for (const placed of ended.taken) if (placed === 0) ended.cost += COSTS.unplaced;
	return ended;
}

/** Cost of a tank's level at the end of the log: none is usual, negative and more than the tank holds are impossible. */
function over(problem: Problem, c: number, level: Level): number {
	const stays = level.m > 0.3 * problem.fill_kg ? COSTS.endsWithGrain : 0;
	return stays + overflow(problem, c, level, 0) - lnPhi((level.m + 100) / Math.sqrt(level.v + 10_000));
}
