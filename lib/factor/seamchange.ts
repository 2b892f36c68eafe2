import { MONITOR, SEAM } from '../model/index.ts';
import { mad } from '../stats/index.ts';
import type { Play } from './chain/play.ts';
import { stepAt } from './form/choose.ts';
import { basisAt, type Shape } from './form/shape.ts';
import type { FactorInput } from './input.ts';

/** What the seams show of one change of a combine's factor. */
export interface SeamChange {
	combine: number;
	shape: Shape;
	/** Change of the log factor per unit of the shape's second basis, and its standard uncertainty. */
	log: number;
	u: number;
	/** −2 log of its likelihood against no change, given the seams. */
	cost: number;
}

/** A combine's seams in order of the time when it cut its side. */
export interface SeamSeries {
	combine: number;
	time_s: readonly number[];
	/** Log ratio of its yield to its neighbor's, less the pair's mean. */
	log: readonly number[];
	/** Scatter from one to the next, which knows nothing of a change. */
	scatter: number;
}

/** Fewest seams on either side of a change, and most moments tried. */
const SIDE = 3;
const MOMENTS = 100;

/** What the seams show of a change of this shape. The neighbor may have changed instead; that is a separate hypothesis. */
export function seamChange({ combine, time_s, log: logs, scatter }: SeamSeries, shape: Shape): SeamChange | null {
	const x = time_s.map((t) => basisAt(shape, t, 0)[1]!);
	const middle = x.reduce((a, b) => a + b, 0) / x.length;
	let spread = 0;
	let sum = 0;
	x.forEach((v, i) => {
		spread += (v - middle) ** 2;
		sum += (v - middle) * logs[i]!;
	});
	// As of a step with the fewest seams on either side.
	if (x.length < 2 * SIDE || spread < SIDE / 2) return null;
	const u = Math.hypot(scatter / Math.sqrt(spread), SEAM.match);
	const both = u ** 2 + MONITOR.change ** 2;
	// A monitor that reads higher than before needs a lower factor.
	const log = -sum / spread;
	return { combine, shape, log, u, cost: Math.log(both / u ** 2) - log ** 2 * (1 / u ** 2 - 1 / both) };
}

/** The step that the seams show best, its cost with the prior odds of one at any of their moments; null where there are too few. */
export function seamStep(series: SeamSeries): SeamChange | null {
	const { time_s } = series;
	const n = time_s.length;
	const hours = (time_s.at(-1)! - time_s[0]!) / 3600;
	const price = -2 * Math.log(Math.min(0.5, hours / MONITOR.change_h) / n);
	let best: SeamChange | null = null;
	for (let k = SIDE; k <= n - SIDE; k += Math.ceil(n / MOMENTS)) {
		const found = seamChange(series, stepAt(time_s[k]!));
		if (found && (best === null || found.cost + price < best.cost)) best = { ...found, cost: found.cost + price };
	}
	return best;
}

/** The likeliest step of each combine. */
export function seamSteps(all: readonly SeamSeries[]): SeamChange[] {
	return all.flatMap((series) => seamStep(series) ?? []);
}

/** Priors with a change of a factor as the seams show it. */
export function withSeamChange(prior: Play['prior'], found: SeamChange, rough: readonly number[]): Play['prior'] {
	const { combine, log, u } = found;
	const change = { mean: rough[combine]! * Math.expm1(log), u: rough[combine]! * u, seam: true };
	return (c, j) => (c === combine && j === 1 ? change : prior(c, j));
}

/** A combine's seams with all others. */
export function seamSeries({ seams, jumps, track, records }: FactorInput, combine: number): SeamSeries {
	const series = jumps.flatMap((j) => {
		if (j.combineA === j.combineB || (j.combineA !== combine && j.combineB !== combine)) return [];
		if (!Number.isFinite(j.log_jump)) return [];
		const sign = j.combineA === combine ? 1 : -1;
		const by = new Map<number, { sum: number; length: number }>();
		for (const b of j.blocks) {
			const s = by.get(b.seam) ?? { sum: 0, length: 0 };
			by.set(b.seam, { sum: s.sum + b.length_m * b.log_jump, length: s.length + b.length_m });
		}
		return [...by].flatMap(([at, { sum, length }]) => {
			const seam = seams[at];
			if (!seam || seam.excluded !== null) return [];
			const { records: of } = track.passes[seam.combineA === combine ? seam.passA : seam.passB]!;
			return [{ time_s: records.time_s[of[of.length >> 1]!]!, log: sign * (sum / length - j.log_jump) }];
		});
	});
	series.sort((a, b) => a.time_s - b.time_s);
	const log = series.map((v) => v.log);
	const scatter = mad(log.slice(1).map((v, i) => v - log[i]!)) / Math.SQRT2;
	return { combine, time_s: series.map((v) => v.time_s), log, scatter };
}
