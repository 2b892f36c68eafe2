import { mad, median } from '../../stats/index.ts';
import { assignmentsOf, type Hypothesis, isAccepted } from '../beam/hypothesis.ts';
import type { BestHypothesis } from '../best-at-offset.ts';
import type { Emptying } from '../outcome/emptying.ts';
import { stoodShare } from './mass.ts';
import { type Priors, type Problem, priceUnweighed, weighedShare } from './problem.ts';

/** Estimates the priors of the next round from the result of one. */
export function learn(problem: Problem, { hypothesis, list, factor, u_factor: found }: BestHypothesis): Priors {
	const old = problem.priors;
	// Wider than estimated, since the next round uses the same weights again.
	const u_factor = found.map((u) => Math.min(0.12, Math.max(0.01, 2.5 * u)));
	let emptied = 0;
	let standing = 0;
	let dumps = 0;
	const scatter: number[] = [];
	let signalled = 0;
	let missed = 0;
	const assigned = assignmentsOf(hypothesis).filter(isAccepted);
	for (const { parts } of assigned) {
		const { combine, place, rests } = parts[0]!;
		dumps++;
		if (!rests) emptied++;
		const t = place.end_s;
		if (stoodShare(problem.flows[combine]!, t - 70, t - 10) > 0.5) standing++;
		if (problem.runs[combine] && t < problem.flows[combine]!.end_s) {
			signalled++;
			if (place.run < 0) missed++;
		}
	}
	const accepted = assigned.map((assignment) => problem.observations[assignment.observation]!);
	const { runs, idle } = idleRuns(problem, list);
	list.forEach((e, i) => {
		const before = list[i - 1];
		const clean = before ? before.combine === e.combine && !before.rests && !before.loose : false;
		if (e.assignment?.kind !== 'normal' || !clean || e.rests || e.loose) return;
		const { kg } = problem.observations[e.assignment.observation]!;
		scatter.push(kg / (factor[e.combine]! * e.account_kg) - 1);
	});
	return {
		...old,
		factor,
		u_factor,
		ratios: [],
		...priceUnweighed(weighedShare(accepted, problem.flows, factor, u_factor)),
		// With a prior of ten unloadings whose signals were right.
		augerMissed: -Math.log((missed + 0.1) / (signalled + 10)),
		augerFalse: -Math.log((idle + 0.1) / (runs + 10)),
		// With a prior of three usual dumps.
		emptied: clamp((emptied + 1.6) / (dumps + 3), 0.1, 0.96),
		standing: clamp((standing + 1) / (dumps + 3), 0.05, 0.9),
		fill: scatter.length < 6 ? old.fill : clamp(1.1 * mad(scatter, 0), 0.008, 0.05),
	};
}

/** Number of runs of the auger long enough to be unloadings, and of those that are not. */
function idleRuns(problem: Problem, list: readonly Emptying[]): { runs: number; idle: number } {
	let runs = 0;
	let idle = 0;
	problem.runs.forEach((own, c) => {
		// Both in order of time.
		const emptied = list.filter((e) => e.combine === c);
		let from = 0;
		for (const run of own?.list ?? []) {
			if (run.end_s - run.start_s < 20) continue;
			runs++;
			while (from < emptied.length && emptied[from]!.end_s + 60 <= run.start_s) from++;
			let stands = false;
			for (let k = from; k < emptied.length && !stands && emptied[k]!.end_s < run.end_s + 1800; k++)
				stands = run.end_s > emptied[k]!.start_s - 60;
			if (!stands) idle++;
		}
	});
	return { runs, idle };
}

function clamp(x: number, low: number, high: number): number {
	return Math.min(high, Math.max(low, x));
}

/** Estimates the clock's offset from the ends of the auger's runs; null with fewer than three. */
export function augerClock(problem: Problem, hypothesis: Hypothesis): { offset_s: number; u_s: number } | null {
	const off: number[] = [];
	for (const assignment of assignmentsOf(hypothesis)) {
		if (!isAccepted(assignment)) continue;
		const t = problem.observations[assignment.observation]!.time_s;
		// A weight of several unloadings is taken at the end of the last one.
		const ends = assignment.parts.filter((p) => p.place.run >= 0).map((p) => p.place.end_s);
		if (ends.length < assignment.parts.length) continue;
		if (Number.isFinite(t) && ends.length > 0) off.push(Math.max(...ends) - t);
	}
	if (off.length < 3) return null;
	const offset_s = median(off);
	const scatter_s = Math.max(2, mad(off, offset_s));
	return { offset_s, u_s: Math.hypot((1.25 * scatter_s) / Math.sqrt(off.length), 3) };
}
