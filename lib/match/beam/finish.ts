import { COSTS } from '../problem/costs.ts';
import { idleRun, type Problem, type Table } from '../problem/problem.ts';
import { take } from './advance.ts';
import type { Ending, Hypothesis, Insert } from './hypothesis.ts';
import { levelAt, overflow, sinceEmptied } from './levels.ts';
import { lnPhi } from './normal.ts';
import { couldBe, isTaken, likeliestRun, range } from './unweighed.ts';

/** Completes a hypothesis after the last dump: grain in the tanks, remaining runs of the auger, deductions without a place. */
export function finish(problem: Problem, table: Table, hypothesis: Hypothesis, whole: boolean): Hypothesis {
	const ended: Hypothesis = { ...hypothesis };
	const endings: Ending[] = [];
	ended.endings = endings;
	for (let c = 0; c < problem.flows.length; c++) {
		const f = problem.flows[c]!;
		let { m, v } = levelAt(problem, ended, c, f.total_kg);
		const inserts: Insert[] = [];
		let gone_kg = 0;
		const runs = whole ? (problem.runs[c]?.list ?? []) : [];
		const left = range(ended.nextRun[c] as number, runs.length);
		for (let p = 0; p < problem.deduced.length; p++) {
			const deduced = problem.deduced[p]!;
			if (deduced.kind === 'excess' || isTaken(problem, ended, p)) continue;
			if ((deduced.combine >= 0 && deduced.combine !== c) || m < deduced.kg * 0.9) continue;
			if (!couldBe(deduced, table.offset_s, ended.time_s[c] as number, Number.POSITIVE_INFINITY)) continue;
			const found = likeliestRun(problem, ended, c, deduced, left, gone_kg, table.offset_s);
			const r = found && found.cost < problem.priors.augerMissed ? found.run : -1;
			if (r >= 0) left.splice(left.indexOf(r), 1);
			take(problem, ended, p);
			ended.cost += COSTS.unweighedDeduced + (deduced.combine < 0 ? Math.log(problem.flows.length) : 0);
			inserts.push({ kind: 'deduced', deduced: p, run: r, rests: false });
			m -= deduced.kg;
			gone_kg += deduced.kg;
			v += deduced.variance;
		}
		const some = 0.3 * problem.fill_kg;
		for (const r of left) {
			const run = runs[r]!;
			const after_kg = f.total_kg - run.endMass_kg;
			const held = m - (ended.belief.x[c] as number) * after_kg;
			const unweighed = held > some && run.end_s - run.start_s > 20;
			if (unweighed && problem.priors.unweighedSeen < idleRun(problem) + over(problem, c, m, v)) {
				inserts.push({ kind: 'run', deduced: -1, run: r, rests: false });
				ended.cost += problem.priors.unweighedSeen;
				// Emptied then: what is in the tank at the end, and its variance, came in since.
				m -= held;
				v = sinceEmptied(problem, ended, c, after_kg, run.flow_kg_s);
			} else ended.cost += idleRun(problem);
		}
		const cost = over(problem, c, m, v);
		if (cost > problem.priors.unweighed) {
			inserts.push({ kind: 'unknown', deduced: -1, run: -1, rests: false });
			ended.cost += problem.priors.unweighed;
		} else {
			ended.cost += cost;
		}
		endings.push({ combine: c, level_kg: m, inserts });
	}
	for (const placed of ended.taken) if (placed === 0) ended.cost += COSTS.unplaced;
	return ended;
}

/** Cost of a tank's level at the end of the log: none is usual, negative and more than the tank holds are impossible. */
function over(problem: Problem, c: number, m: number, v: number): number {
	const stays = m > 0.3 * problem.fill_kg ? COSTS.endsWithGrain : 0;
	return stays + overflow(problem, c, m, v, 0) - lnPhi((m + 100) / Math.sqrt(v + 10_000));
}
