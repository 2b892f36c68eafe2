/**
 * Lag from header to sensor: the shift at which neighbouring passes agree best. Passes of one combine in opposite
 * directions tell its own lag; passes of two combines tell the sum (opposite) or the difference (same direction).
 *
 * Grain mixes on its way, so the sensor's answer to a step is skewed, and the best agreement would lie before the
 * mean delay. Running the flow through the same smear backwards makes the whole answer symmetric: what is found
 * then is the pure delay, and the mean delay is that plus the smear's time constant.
 */

import type { Sides } from '../ground/sides.ts';
import type { PassRun, Pieces } from '../path/pieces.ts';
import { type Folds, jointUncertainty } from './jackknife.ts';
import { lowest } from './lowest.ts';
import { smearBack, smearOn, type TimeGrid } from './time-grid.ts';

export interface LagFound {
	/** Mean delay, smear included; NaN where no pair of passes speaks. */
	lag_s: number;
	u_s: number;
	/** Time by which the antenna follows the cutter, where it was looked for. */
	ahead_s: number;
	pairs: number;
}

/** Search, seconds. */
const FROM_S = -10;
const TO_S = 25;
/** Places nearer to their pass's ends than this are left out, seconds. */
const END_S = 12;
/** Area rate may change by this share within so many seconds of a place. */
const STEADY = 0.25;
const STEADY_S = 8;
/** Squared log differences are bounded here: a spike or a stop weighs no more than any bad pair. */
const BOUND = 0.16;

/** A gain of so many standard errors is clear. */
const CLEARLY = 2;
/** What not knowing the antenna's place adds, seconds. */
const AHEAD_S = 0.3;
/** How far lags and seams may be apart from edges on the ground by chance, beyond what the edges' scatter says. */
const EDGES_S = 0.5;
/** Where the seams' valley has no bottom, seconds. */
const FLAT_S = 2;
/** Reach of one look at the valley for the uncertainty, seconds. */
const LOOK_S = 0.75;

/** Two places side by side: which combine, when (in steps of its grid), in which pair of passes. */
export interface Pair {
	combineA: number;
	a: number;
	combineB: number;
	b: number;
	group: number;
	opposite: boolean;
}

/** Places side by side on seams of full-width passes; at most `most` of them, evenly picked. */
export function pairPlaces(
	pieces: Pieces,
	sides: Sides,
	new_m: Float64Array,
	grids: (TimeGrid | null)[],
	runs: PassRun[],
	most: number,
): Pair[] {
	const pairs: Pair[] = [];
	const groups = new Map<number, number>();
	const passes = pieces.pass.reduce((m, p) => Math.max(m, p), 0) + 1;
	for (let i = 0; i < pieces.n; i++) {
		if (pieces.pass[i]! < 0 || new_m[i]! < 0.5 * pieces.width_m[i]! || atEnd(pieces, runs, i)) continue;
		for (const side of [0, 1] as const) {
			const j = sides.piece[side][i]!;
			if (j < 0 || pieces.pass[j]! < 0 || new_m[j]! < 0.5 * pieces.width_m[j]!) continue;
			if (atEnd(pieces, runs, j)) continue;
			const ea = grids[pieces.combine[i]!];
			const eb = grids[pieces.combine[j]!];
			if (ea == null || eb == null) continue;
			const cos = pieces.ux[i]! * pieces.ux[j]! + pieces.uy[i]! * pieces.uy[j]!;
			// Same direction and same combine: both shift together, nothing to learn.
			if (cos > 0 && pieces.combine[i] === pieces.combine[j]) continue;
			const ti = (pieces.from_s[i]! + pieces.to_s[i]!) / 2;
			const along =
				(pieces.x_m[i]! - pieces.x_m[j]!) * pieces.ux[j]! + (pieces.y_m[i]! - pieces.y_m[j]!) * pieces.uy[j]!;
			const span = pieces.to_s[j]! - pieces.from_s[j]!;
			const tj = (pieces.from_s[j]! + pieces.to_s[j]!) / 2 + (along / pieces.length_m[j]!) * span;
			const key = pieces.pass[i]! * passes + pieces.pass[j]!;
			let group = groups.get(key);
			if (group === undefined) groups.set(key, (group = groups.size));
			pairs.push({
				combineA: pieces.combine[i]!,
				a: ea.place(ti),
				combineB: pieces.combine[j]!,
				b: eb.place(tj),
				group,
				opposite: cos < 0,
			});
		}
	}
	const keep = Math.ceil(pairs.length / most);
	return keep <= 1 ? pairs : pairs.filter((_, k) => k % keep === 0);
}

/**
 * Near its pass's start or end: there the flow tells when the header went down and up, which an antenna ahead or
 * behind, or a header lowered early, shifts against the ground.
 */
function atEnd(pieces: Pieces, runs: PassRun[], i: number): boolean {
	const run = runs[pieces.pass[i]!]!;
	return pieces.from_s[i]! - run.start_s < END_S || run.end_s - pieces.to_s[i]! < END_S;
}

/** One combine's log value after the smear backwards, and log area rate after it both ways. */
interface Ready {
	value: Float64Array;
	rate: Float64Array;
	step_s: number;
	smear_s: number;
	/** By how much the grain's own time exceeds the lag: the antenna's way behind the cutter. */
	ahead_s: number;
}

/**
 * Lags of all combines together.
 *
 * @param grids - one a combine, null where it has no records
 * @param smear_s - by combine
 * @param start_s - where to begin, by combine; NaN = search the whole range
 * @param antennaGiven - the antenna's place is known, by combine
 * @param edges - lags by edges on the ground, by combine, null where there are none: another witness of whether the
 * antenna is off the cutter
 * @param perArea - the value is a flow, to be taken over the area rate; else it stands for itself (moisture)
 */
export function findLags(
	grids: (TimeGrid | null)[],
	pairs: Pair[],
	smear_s: number[],
	start_s: number[],
	antennaGiven: boolean[],
	edges: ({ lag_s: number; u_s: number } | null)[],
	perArea: boolean,
): LagFound[] {
	const ready = grids.map((grid, c) => (grid === null ? null : prepare(grid, smear_s[c]!, perArea)));
	const combines = grids.length;
	const lag = start_s.slice();
	const mine = grids.map((_, c) => numbered(pairs.filter((p) => p.combineA === c || p.combineB === c)));
	const own = grids.map((_, c) => numbered(pairs.filter((p) => p.combineA === c && p.combineB === c)));
	// First each combine by its own seams, over the whole range.
	for (let c = 0; c < combines; c++) {
		if (Number.isFinite(lag[c]!) || own[c]!.n < 200) continue;
		lag[c] = lowest(curveOf(ready, own[c]!, c, lag, FROM_S, TO_S, 1))?.lag ?? Number.NaN;
	}
	// Those that have none of their own begin with one common lag, from seams cut in opposite directions.
	const without = lag.map((l, c) => (Number.isNaN(l) && mine[c]!.n > 0 ? c : -1)).filter((c) => c >= 0);
	if (without.length > 0) {
		const list = numbered(
			pairs.filter((p) => p.opposite && (without.includes(p.combineA) || without.includes(p.combineB))),
		);
		let best = Number.NaN;
		let least = Number.POSITIVE_INFINITY;
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
	// Then one after the other, finely, until they rest: with the antenna over the cutter, and with it anywhere.
	const usable = mine.map((list, c) => list.n >= 60 && !Number.isNaN(lag[c]!));
	refineLags(ready, mine, usable, lag, null);
	const over = lag.slice();
	if (perArea) {
		const plain = mine.map((list) => mismatches(ready, list, lag));
		let free = antennaGiven.map((t, c) => !t && usable[c]!);
		// An antenna elsewhere must be borne out; where one is not, the others are asked again without it.
		while (free.includes(true)) {
			refineLags(ready, mine, usable, lag, free);
			const placed = free.map((f, c) => {
				// It sits on the machine, not before the header.
				if (!f || ready[c]!.ahead_s < 0.75) return false;
				return borneOut(gain(mismatches(ready, mine[c]!, lag), plain[c]!), edges[c] ?? null, over[c]!, lag[c]!);
			});
			if (placed.every((p, c) => p === free[c])) break;
			free = placed;
			for (let c = 0; c < combines; c++) {
				lag[c] = over[c]!;
				if (ready[c] !== null) ready[c]!.ahead_s = 0;
			}
		}
	}
	const u_s = uncertainties(ready, pairs, usable, lag);
	return grids.map((_, c) => {
		if (!usable[c]) return { lag_s: Number.NaN, u_s: Number.NaN, ahead_s: 0, pairs: mine[c]!.n };
		const { ahead_s } = ready[c]!;
		const alone_s = jackknife(ready, mine[c]!, c, lag);
		const own_u_s = u_s === null ? Math.max(alone_s, combines > 1 ? FLAT_S : 0) : Math.max(alone_s, u_s[c]!);
		// Where no edges bear it out, the antenna's place is a guess among two.
		const guess_s = edges[c] === null ? Math.abs(lag[c]! - over[c]!) / 2 : 0;
		return {
			lag_s: lag[c]!,
			u_s: ahead_s === 0 ? own_u_s : Math.hypot(own_u_s, AHEAD_S, guess_s),
			ahead_s,
			pairs: mine[c]!.n,
		};
	});
}

/** Standard uncertainties of all lags, found together with each other and with the antennas' places. */
function uncertainties(ready: (Ready | null)[], pairs: Pair[], usable: boolean[], lag: number[]): number[] | null {
	const list = numbered(pairs.filter((p) => usable[p.combineA] && usable[p.combineB]));
	const settings: { combine: number; ahead: boolean }[] = [];
	usable.forEach((u, combine) => {
		if (!u) return;
		settings.push({ combine, ahead: false });
		if (ready[combine]!.ahead_s !== 0) settings.push({ combine, ahead: true });
	});
	if (settings.length === 0) return null;
	const meet = new Set(Array.from(list.combineA, (a, k) => a * lag.length + list.combineB[k]!));
	const trial = lag.slice();
	const set = (at: number[]) => {
		settings.forEach(({ combine, ahead }, k) => {
			if (ahead) ready[combine]!.ahead_s = at[k]!;
			else trial[combine] = at[k]!;
		});
	};
	const found = settings.map(({ combine, ahead }) => (ahead ? ready[combine]!.ahead_s : lag[combine]!));
	const u = jointUncertainty(
		(at) => {
			set(at);
			return mismatches(ready, list, trial);
		},
		found,
		settings.map(() => LOOK_S),
		(i, j) => {
			const [a, b] = [settings[i]!.combine, settings[j]!.combine];
			return a === b || meet.has(a * lag.length + b) || meet.has(b * lag.length + a);
		},
	);
	set(found);
	if (u === null) return null;
	const out = lag.map(() => Number.NaN);
	settings.forEach(({ combine, ahead }, k) => {
		if (!ahead) out[combine] = u[k]!;
	});
	return out;
}

/**
 * Is an antenna off the cutter borne out? Two witnesses, each by its squared standard scores: how far the seams agree
 * better, fold by fold, and how far the lag comes nearer to the one by edges on the ground, or away from it.
 */
function borneOut(score: number, edge: { lag_s: number; u_s: number } | null, over_s: number, off_s: number): boolean {
	if (edge === null) return score > CLEARLY;
	const u2 = edge.u_s ** 2 + EDGES_S ** 2;
	const nearer = ((over_s - edge.lag_s) ** 2 - (off_s - edge.lag_s) ** 2) / u2;
	return score > 0 && score ** 2 + nearer > CLEARLY ** 2;
}

/** Moves each usable lag in turn to where it fits best; where `free`, the antenna's time behind the cutter too. */
function refineLags(
	ready: (Ready | null)[],
	mine: Pairs[],
	usable: boolean[],
	lag: number[],
	free: boolean[] | null,
): void {
	for (let round = 0; round < 5; round++) {
		let moved = 0;
		for (const [c, list] of mine.entries()) {
			if (!usable[c]) continue;
			const at = lowest(curveOf(ready, list, c, lag, lag[c]! - 4, lag[c]! + 4, 0.5));
			if (at === null) continue;
			moved = Math.max(moved, Math.abs(at.lag - lag[c]!));
			lag[c] = at.lag;
			if (!free?.[c]) continue;
			const own = ready[c]!;
			const before = own.ahead_s;
			const valley = [];
			for (let d = -1; d <= 5; d += 0.5) {
				own.ahead_s = d;
				valley.push({ lag_s: d, mismatch: mismatch(ready, list, lag) });
			}
			own.ahead_s = lowest(valley)?.lag ?? before;
			moved = Math.max(moved, Math.abs(own.ahead_s - before) / 2);
		}
		if (moved < 0.03) break;
	}
}

/** By how many standard errors between folds the first mismatch is less than the second; 0 with too few folds. */
function gain(first: Folds, second: Folds): number {
	const gains: number[] = [];
	for (let f = 0; f < FOLDS; f++) {
		const n = Math.min(first.count[f]!, second.count[f]!);
		if (n < 20) continue;
		gains.push(second.sum[f]! / second.count[f]! - first.sum[f]! / first.count[f]!);
	}
	if (gains.length < 5) return 0;
	const mean = gains.reduce((s, v) => s + v, 0) / gains.length;
	const sd = Math.sqrt(gains.reduce((s, v) => s + (v - mean) ** 2, 0) / (gains.length - 1));
	return sd > 0 ? (mean / sd) * Math.sqrt(gains.length) : 0;
}

function prepare(grid: TimeGrid, smear_s: number, perArea: boolean): Ready {
	const value = smearBack(grid.value, grid.step_s, smear_s);
	const rate = perArea
		? smearBack(smearOn(grid.rate, grid.step_s, smear_s), grid.step_s, smear_s)
		: new Float64Array(grid.n).fill(1);
	const steady = steadyPlaces(grid);
	for (let g = 0; g < grid.n; g++) {
		value[g] = Math.log(Math.max(1e-2, value[g]!));
		rate[g] = steady[g] ? Math.log(rate[g]!) : Number.NaN;
	}
	return { value, rate, step_s: grid.step_s, smear_s, ahead_s: 0 };
}

/**
 * 1 where the area rate stays near its value for some seconds before and after. Around a stop or a change of speed
 * the flow tells the time that grain takes, loudly; where that and the ground disagree (an antenna ahead or behind)
 * it is the ground that counts here.
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

/** Log yield of the place passed at grid time `at`, for a lag; NaN where unknown. */
function reading(r: Ready, at: number, lag_s: number): number {
	// Cut a little before or after the antenna came by: then the header had another speed.
	const low = Math.floor(at - r.ahead_s / r.step_s);
	const s = at + (lag_s - r.smear_s) / r.step_s;
	const l = Math.floor(s);
	if (low < 0 || low >= r.rate.length || l < 0 || l + 1 >= r.value.length) return Number.NaN;
	const g = s - l;
	return r.value[l]! * (1 - g) + r.value[l + 1]! * g - r.rate[low]!;
}

/** Leave-out parts for the uncertainty. */
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

/** Pairs as columns, their groups numbered anew from 0. */
interface Pairs {
	n: number;
	groups: number;
	combineA: Uint8Array;
	combineB: Uint8Array;
	a: Float64Array;
	b: Float64Array;
	group: Int32Array;
}

function numbered(pairs: Pair[]): Pairs {
	const names = new Map<number, number>();
	const group = Int32Array.from(pairs, (p) => {
		let number = names.get(p.group);
		if (number === undefined) names.set(p.group, (number = names.size));
		return number;
	});
	return {
		n: pairs.length,
		groups: names.size,
		combineA: Uint8Array.from(pairs, (p) => p.combineA),
		combineB: Uint8Array.from(pairs, (p) => p.combineB),
		a: Float64Array.from(pairs, (p) => p.a),
		b: Float64Array.from(pairs, (p) => p.b),
		group,
	};
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
	from: number,
	to: number,
	step: number,
): { lag_s: number; mismatch: number }[] {
	const curve: { lag_s: number; mismatch: number }[] = [];
	const trial = lag.slice();
	for (let l = from; l <= to + 1e-9; l += step) {
		trial[c] = l;
		curve.push({ lag_s: l, mismatch: mismatch(ready, pairs, trial) });
	}
	return curve;
}

/** Standard uncertainty by leaving out every tenth pair of passes in turn, searching near the lag found. */
function jackknife(ready: (Ready | null)[], pairs: Pairs, c: number, lag: number[]): number {
	const trial = lag.slice();
	const lags: number[] = [];
	const parts: Folds[] = [];
	for (let d = -3; d <= 3; d += 0.5) {
		lags.push(lag[c]! + d);
		trial[c] = lag[c]! + d;
		parts.push(mismatches(ready, pairs, trial));
	}
	const total = (v: Float64Array) => v.reduce((s, q) => s + q, 0);
	const found: number[] = [];
	for (let f = 0; f < FOLDS; f++) {
		const curve = parts.map(({ sum, count }, k) => ({
			lag_s: lags[k]!,
			mismatch: (total(sum) - sum[f]!) / (total(count) - count[f]!),
		}));
		const at = lowest(curve);
		if (at !== null) found.push(at.lag);
	}
	if (found.length < FOLDS) return 2;
	const mean = found.reduce((s, v) => s + v, 0) / FOLDS;
	return Math.sqrt((found.reduce((s, v) => s + (v - mean) ** 2, 0) * (FOLDS - 1)) / FOLDS);
}
