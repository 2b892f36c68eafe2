import type { Variogram } from '../../model/index.ts';

/** Places and values of length n. */
export interface Places {
	x_m: ArrayLike<number>;
	y_m: ArrayLike<number>;
	value: ArrayLike<number>;
}

export type VariogramPoint = Variogram['points'][number];

/**
 * The empirical semivariogram, Matheron's estimator: γ(h) = Σ (z_i − z_j)² / (2 N(h)) over pairs whose distance
 * falls into (k·width, (k+1)·width], up to `cutoff_m`; pairs at one place fall into the first class. Each class
 * stands at the mean distance of its pairs. Empty classes are left out.
 *
 * With `every` > 1 only every so-many-th place starts pairs (all places answer): enough for a million records.
 * Checked against gstat's `variogram` on the meuse data.
 */
export function semivariogram(places: Places, width_m: number, cutoff_m: number, every = 1): VariogramPoint[] {
	const classes = Math.ceil(cutoff_m / width_m - 1e-9);
	const pairs = new Float64Array(classes);
	const squares = new Float64Array(classes);
	const distances = new Float64Array(classes);
	const { x_m, y_m, value } = places;
	const n = value.length;
	// Sorted by x: a pair further apart in x than the cutoff ends the search.
	const order = Int32Array.from({ length: n }, (_, i) => i).sort((a, b) => x_m[a]! - x_m[b]! || a - b);
	const pair = (i: number, j: number, ex: number) => {
		const ey = y_m[j]! - y_m[i]!;
		if (ey > cutoff_m || ey < -cutoff_m) return;
		const d = Math.sqrt(ex * ex + ey * ey);
		if (d > cutoff_m) return;
		const at = Math.max(0, Math.ceil(d / width_m) - 1);
		const ez = value[j]! - value[i]!;
		pairs[at]!++;
		squares[at]! += ez * ez;
		distances[at]! += d;
	};
	for (let k = 0; k < n; k++) {
		const i = order[k]!;
		if (i % every !== 0) continue;
		for (let m = k + 1; m < n && x_m[order[m]!]! - x_m[i]! <= cutoff_m; m++) {
			pair(i, order[m]!, x_m[order[m]!]! - x_m[i]!);
		}
		// To the other side only those that start no pairs themselves: the others have counted this one.
		for (let m = k - 1; every > 1 && m >= 0 && x_m[i]! - x_m[order[m]!]! <= cutoff_m; m--) {
			if (order[m]! % every !== 0) pair(i, order[m]!, x_m[order[m]!]! - x_m[i]!);
		}
	}
	const points: VariogramPoint[] = [];
	for (let c = 0; c < classes; c++) {
		if (pairs[c] === 0) continue;
		points.push({
			lag_m: distances[c]! / pairs[c]!,
			semivariance: squares[c]! / (2 * pairs[c]!),
			pairs: pairs[c]!,
		});
	}
	return points;
}

/** A model's shape: 0 at distance 0, rising to 1. Exponential by gstat's convention: 1 − exp(−h / range). */
export function shape(model: Variogram['model'], h_m: number, range_m: number): number {
	if (model === 'none' || !(range_m > 0)) return h_m > 0 ? 1 : 0;
	if (model === 'exponential') return -Math.expm1(-h_m / range_m);
	if (h_m >= range_m) return 1;
	const r = h_m / range_m;
	return 1.5 * r - 0.5 * r * r * r;
}

/** Semivariance of a fitted model at a distance; at distance 0 it is 0, just beyond it the nugget. */
export function semivariance(v: Pick<Variogram, 'model' | 'nugget' | 'sill' | 'range_m'>, h_m: number): number {
	if (h_m === 0) return 0;
	return v.nugget + (v.sill - v.nugget) * shape(v.model, h_m, v.range_m);
}

/**
 * Fits nugget + (sill − nugget) · shape(h / range) to an empirical semivariogram by weighted least squares with
 * weights N(h) / h² (gstat's fit.method 7). For a given range it is linear in nugget and partial sill, both kept
 * at or above 0; the range is searched, first on a geometric grid, then by golden section. The model with the
 * smaller weighted sum of squares is taken.
 */
export function fitVariogram(
	points: VariogramPoint[],
	models: Variogram['model'][] = ['spherical', 'exponential'],
): Variogram {
	let best: (Variogram & { sse: number }) | null = null;
	const last_m = points.at(-1)?.lag_m ?? 0;
	const first_m = points[0]?.lag_m ?? 0;
	if (points.length < 3 || !(last_m > first_m)) {
		const mean = points.reduce((s, p) => s + p.semivariance, 0) / Math.max(1, points.length);
		return { model: 'none', nugget: mean, sill: mean, range_m: 0, points };
	}
	for (const model of models) {
		const at = (range_m: number) => linearPart(points, model, range_m);
		const low = Math.log(Math.max(first_m / 3, last_m / 300));
		const high = Math.log(3 * last_m);
		let bestLog = low;
		let bestSse = Number.POSITIVE_INFINITY;
		const steps = 40;
		for (let k = 0; k <= steps; k++) {
			const log = low + ((high - low) * k) / steps;
			const { sse } = at(Math.exp(log));
			if (sse < bestSse) [bestSse, bestLog] = [sse, log];
		}
		const half = (high - low) / steps;
		const range_m = Math.exp(goldenSection((log) => at(Math.exp(log)).sse, bestLog - half, bestLog + half));
		const part = at(range_m);
		if (best === null || part.sse < best.sse * (1 - 1e-9)) {
			best = { model, nugget: part.nugget, sill: part.nugget + part.partial, range_m, points, sse: part.sse };
		}
	}
	const { sse: _, ...fitted } = best!;
	return fitted;
}

/** Nugget and partial sill by weighted least squares at a fixed range, both ≥ 0. */
function linearPart(points: VariogramPoint[], model: Variogram['model'], range_m: number) {
	let [s, sx, sxx, sy, sxy] = [0, 0, 0, 0, 0];
	const rows = points.map((p) => {
		const w = p.lag_m > 0 ? p.pairs / (p.lag_m * p.lag_m) : 0;
		return { w, x: shape(model, p.lag_m, range_m), y: p.semivariance };
	});
	for (const { w, x, y } of rows) {
		s += w;
		sx += w * x;
		sxx += w * x * x;
		sy += w * y;
		sxy += w * x * y;
	}
	const det = s * sxx - sx * sx;
	let nugget = det > 0 ? (sxx * sy - sx * sxy) / det : 0;
	let partial = det > 0 ? (s * sxy - sx * sy) / det : sy / s;
	if (nugget < 0) [nugget, partial] = [0, sxx > 0 ? sxy / sxx : 0];
	if (partial < 0) [nugget, partial] = [sy / s, 0];
	let sse = 0;
	for (const { w, x, y } of rows) sse += w * (y - nugget - partial * x) ** 2;
	return { nugget, partial, sse };
}

/** Minimum of a function with one valley between `a` and `b`. */
export function goldenSection(f: (x: number) => number, a: number, b: number, turns = 40): number {
	const g = (Math.sqrt(5) - 1) / 2;
	let [lo, hi] = [a, b];
	let [x1, x2] = [hi - g * (hi - lo), lo + g * (hi - lo)];
	let [f1, f2] = [f(x1), f(x2)];
	for (let k = 0; k < turns; k++) {
		if (f1 < f2) {
			[hi, x2, f2] = [x2, x1, f1];
			x1 = hi - g * (hi - lo);
			f1 = f(x1);
		} else {
			[lo, x1, f1] = [x1, x2, f2];
			x2 = lo + g * (hi - lo);
			f2 = f(x2);
		}
	}
	return (lo + hi) / 2;
}
