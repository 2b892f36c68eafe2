/**
 * Lag from header to sensor: the shift at which neighboring passes agree best. Passes of one combine in opposite
 * directions determine its lag; passes of two combines determine the sum (opposite) or difference (same direction).
 *
 * Grain mixes on its way, so the sensor's response to a step is skewed, and the best agreement would be before the mean
 * delay. Passing the flow through the same smear backward makes the response symmetric: the shift found is then the
 * pure delay, and the mean delay is that plus the smear's time constant.
 */

import { type Folds, jointUncertainty } from './jackknife.ts';
import { lowest } from './lowest.ts';
import { type Pairs, somePairs } from './piece-pairs.ts';
import { smearBack, smearOn, type TimeGrid } from './time-grid.ts';

export interface LagFound {
	/** Mean delay, smear included; NaN where no pair of passes shows it. */
	lag_s: number;
	u_s: number;
	pairs: number;
}

/** Range of the search, seconds. */
const FROM_S = -10;
const TO_S = 25;
/** A place is steady where the area rate changes by at most this share within this many seconds. */
const STEADY = 0.25;
const STEADY_S = 8;
/** Bound of squared log differences, so that a spike or a stop counts no more than any bad pair. */
const BOUND = 0.16;

/** Standard uncertainty where the seams do not determine the lag, seconds. */
const FLAT_S = 2;
/** Step of the numerical derivatives for the uncertainty, seconds. */
const LOOK_S = 0.75;

/** One combine's log value after the backward smear, and log area rate after the smear in both directions. */
export interface Ready {
	value: Float64Array;
	rate: Float64Array;
	step_s: number;
	smear_s: number;
}

/**
 * Estimates the lags of all combines together.
 *
 * @param ready - what each combine's sensor read; null where it has no records
 * @param start_s - starting value by combine; NaN = search the whole range
 */
export function findLags(ready: (Ready | null)[], pairs: Pairs, start_s: number[]): LagFound[] {
	const combines = ready.length;
	const lag = start_s.slice();
	const { combineA, combineB, opposite } = pairs;
	const mine = ready.map((_, c) => somePairs(pairs, (k) => combineA[k] === c || combineB[k] === c));
	const own = ready.map((_, c) => somePairs(pairs, (k) => combineA[k] === c && combineB[k] === c));
	// First each combine from its own seams, over the whole range.
	for (let c = 0; c < combines; c++) {
		if (Number.isFinite(lag[c]!) || own[c]!.n < 200) continue;
		lag[c] = lowest(curveOf(ready, own[c]!, c, lag, { from: FROM_S, to: TO_S, step: 1 }))?.lag ?? Number.NaN;
	}
	// Combines without seams of their own start with one common lag, from seams cut in opposite directions.
	const without = lag.map((l, c) => (Number.isNaN(l) && mine[c]!.n > 0 ? c : -1)).filter((c) => c >= 0);
	if (without.length > 0) {
		const list = somePairs(
			pairs,
			(k) => opposite[k] === 1 && (without.includes(combineA[k]!) || without.includes(combineB[k]!)),
		);
		let best = Number.NaN;
		let least = Infinity;
		for (let l = FROM_S; l <= TO_S; l++) {
			const trial = lag.map((v, c) => (without.includes(c) ? l : v));
			const score = mismatch(ready, list, trial);
			if (score < least) {
				least = score;
				best = l;
			}
		}
		for (const c of without) lag[c] = best;
	}
	// Then refine one after the other until they converge.
	const usable = mine.map((list, c) => list.n >= 60 && !Number.isNaN(lag[c]!));
	refineLags(ready, mine, usable, lag);
	// Seams of an even crop agree as well at one lag as at another, and lead out of the range: they show none.
	for (let c = 0; c < combines; c++) usable[c] &&= lag[c]! > FROM_S && lag[c]! < TO_S;
	const u_s = uncertainties(ready, pairs, usable, lag);
	return ready.map((_, c) =>
		usable[c]
			? { lag_s: lag[c]!, u_s: u_s[c]!, pairs: mine[c]!.n }
			: { lag_s: Number.NaN, u_s: Number.NaN, pairs: mine[c]!.n },
	);
}

/** Joint standard uncertainties of all lags; two seconds each where the minimum is not determined. */
function uncertainties(ready: (Ready | null)[], pairs: Pairs, usable: boolean[], lag: number[]): number[] {
	const list = somePairs(pairs, (k) => usable[pairs.combineA[k]!]! && usable[pairs.combineB[k]!]!);
	const free = lag.map((_, c) => c).filter((c) => usable[c]);
	if (free.length === 0) return lag;
	const meet = new Set<number>();
	for (let k = 0; k < list.n; k++) meet.add(list.combineA[k]! * lag.length + list.combineB[k]!);
	const trial = lag.slice();
	const u = jointUncertainty(
		(at) => {
			for (const [k, c] of free.entries()) trial[c] = at[k]!;
			return mismatches(ready, list, trial);
		},
		free.map((c) => lag[c]!),
		free.map(() => LOOK_S),
		(i, j) => meet.has(free[i]! * lag.length + free[j]!) || meet.has(free[j]! * lag.length + free[i]!),
	);
	const out: number[] = lag.map(() => FLAT_S);
	if (u !== null) for (const [k, c] of free.entries()) out[c] = u[k]!;
	return out;
}

/** Moves each usable lag in turn to its best fit. */
function refineLags(ready: (Ready | null)[], mine: Pairs[], usable: boolean[], lag: number[]): void {
	for (let round = 0; round < 5; round++) {
		let moved = 0;
		for (const [c, list] of mine.entries()) {
			if (!usable[c]) continue;
			const at = lowest(curveOf(ready, list, c, lag, { from: lag[c]! - 4, to: lag[c]! + 4, step: 0.5 }));
			if (at === null) continue;
			moved = Math.max(moved, Math.abs(at.lag - lag[c]!));
			lag[c] = at.lag;
		}
		if (moved < 0.03) break;
	}
}

/** @param perArea - true for a flow, which is divided by the area rate; false for moisture */
export function prepare(grid: TimeGrid, smear_s: number, perArea: boolean): Ready {
	const value = smearBack(grid.value, grid.step_s, smear_s);
	const rate = perArea
		? smearBack(smearOn(grid.rate, grid.step_s, smear_s), grid.step_s, smear_s)
		: new Float64Array(grid.n).fill(1);
	const steady = steadyPlaces(grid);
	for (let g = 0; g < grid.n; g++) {
		value[g] = Math.log(Math.max(1e-2, value[g]!));
		rate[g] = steady[g] ? Math.log(rate[g]!) : Number.NaN;
	}
	return { value, rate, step_s: grid.step_s, smear_s };
}

/**
 * 1 where the area rate is steady for some seconds before and after. Around a stop or change of speed the flow strongly
 * shows the time that grain takes, which differs from the lag on the ground if the antenna is ahead or behind; here
 * the lag on the ground is wanted.
 */
function steadyPlaces(grid: TimeGrid): Uint8Array {
	const { n, rate, step_s } = grid;
	const out = new Uint8Array(n);
	const reach = Math.round(STEADY_S / step_s);
	for (let g = reach; g + reach < n; g++) {
		const own = rate[g]!;
		if (!(own > 0)) continue;
		let ok = 1;
		for (let q = g - reach; q <= g + reach && ok === 1; q++) {
			if (!(rate[q]! > (1 - STEADY) * own && rate[q]! < own / (1 - STEADY))) ok = 0;
		}
		out[g] = ok;
	}
	return out;
}

/** Log yield at the place passed at grid time `at`, for a given lag; NaN where unknown. */
function reading(r: Ready, at: number, lag_s: number): number {
	const low = Math.floor(at);
	const s = at + (lag_s - r.smear_s) / r.step_s;
	const l = Math.floor(s);
	if (low < 0 || low >= r.rate.length || l < 0 || l + 1 >= r.value.length) return Number.NaN;
	const g = s - l;
	return r.value[l]! * (1 - g) + r.value[l + 1]! * g - r.rate[low]!;
}

/** Number of folds for the uncertainty. */
const FOLDS = 10;

/**
 * Bounded squared differences, each pair of passes against its own mean difference: sum and count by fold, each
 * fold being every tenth pair of passes.
 */
function mismatches(ready: (Ready | null)[], pairs: Pairs, lag: number[]): Folds {
	const { n, groups, combineA, combineB, a, b, group } = pairs;
	const sums = new Float64Array(groups);
	const counts = new Int32Array(groups);
	const d = new Float64Array(n);
	for (let k = 0; k < n; k++) {
		const [first, second] = [combineA[k]!, combineB[k]!];
		const v = reading(ready[first]!, a[k]!, lag[first]!) - reading(ready[second]!, b[k]!, lag[second]!);
		d[k] = v;
		if (Number.isNaN(v)) continue;
		sums[group[k]!]! += Math.max(-1, Math.min(1, v));
		counts[group[k]!]!++;
	}
	const sum = new Float64Array(FOLDS);
	const count = new Float64Array(FOLDS);
	for (let k = 0; k < n; k++) {
		if (Number.isNaN(d[k]!)) continue;
		const g = group[k]!;
		const r = d[k]! - sums[g]! / counts[g]!;
		sum[g % FOLDS]! += Math.min(r * r, BOUND);
		count[g % FOLDS]!++;
	}
	return { sum, count };
}

function mismatch(ready: (Ready | null)[], pairs: Pairs, lag: number[]): number {
	const { sum, count } = mismatches(ready, pairs, lag);
	const n = count.reduce((s, v) => s + v, 0);
	return n < 30 ? Number.NaN : sum.reduce((s, v) => s + v, 0) / n;
}

function curveOf(
	ready: (Ready | null)[],
	pairs: Pairs,
	c: number,
	lag: number[],
	{ from, to, step }: { from: number; to: number; step: number },
): { lag_s: number; mismatch: number }[] {
	const curve: { lag_s: number; mismatch: number }[] = [];
	const trial = lag.slice();
	for (let l = from; l <= to + 1e-9; l += step) {
		trial[c] = l;
		curve.push({ lag_s: l, mismatch: mismatch(ready, pairs, trial) });
	}
	return curve;
}
