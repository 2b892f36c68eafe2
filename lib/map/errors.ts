import { median } from '../stats/index.ts';
import { Kriging } from './krige.ts';
import { Near } from './near.ts';
import type { Segments } from './segments.ts';
import { type Supports, supportsOf } from './support.ts';
import { goldenSection } from './variogram.ts';

/**
 * How yields of segments vary together, relative to the field's mean yield:
 *
 * - the crop: sill² · exp(−h / range), averaged over both segments' ground
 * - white: an error of each record of its own, white² / records in the segment
 * - pass: an error that a pass keeps (a receiver off to the side, a header not full)
 * - slow: an error of a combine that is alike over tens of minutes, slow² · exp(−|Δt| / 20 min)
 */
export interface ErrorModel {
	sill: number;
	range_m: number;
	white: number;
	pass: number;
	slow: number;
}

/** A monitor's slow error is alike over 10 to 40 minutes; the middle. */
export const SLOW_S = 1200;
/** Segments asked when the model is learned. */
const ASKED = 16;
/** Segments that are predicted from their neighbours to learn the model. */
const SAMPLE = 260;

/**
 * What is expected before the field has spoken, and how far it may be off (natural log): monitors err slowly by
 * about a per cent, receivers wander by a decimetre or two on a header of several metres (method.md, sections 3
 * and 4). Fields speak clearly on the rest, where the prior is as good as flat.
 */
const PRIOR: Record<'sill' | 'white' | 'pass' | 'slow', [number, number]> = {
	sill: [0.08, 1.5],
	white: [0.05, 1.5],
	pass: [0.012, 0.6],
	slow: [0.012, 0.4],
};
const PRIOR_RANGE_M: [number, number] = [40, 1.2];

/** Table of exp(−d) for d = distance / range. */
const STEP = 1 / 256;
const DECAY = Float64Array.from({ length: 256 * 12 + 2 }, (_, k) => Math.exp(-k * STEP));

/** exp(−d) by a table with straight lines between: off by less than 2e−6. */
export function decay(d: number): number {
	const at = d * 256;
	const k = at | 0;
	if (k >= 256 * 12) return 0;
	const low = DECAY[k]!;
	return low + (at - k) * (DECAY[k + 1]! - low);
}

/** Mean of exp(−h / range) over the points of two supports. */
export function meanDecay(
	xa: Float64Array,
	ya: Float64Array,
	a: number,
	countA: number,
	xb: Float64Array,
	yb: Float64Array,
	b: number,
	countB: number,
	range_m: number,
): number {
	let sum = 0;
	const scale = 1 / range_m;
	for (let i = a; i < a + countA; i++) {
		const x = xa[i]!;
		const y = ya[i]!;
		for (let j = b; j < b + countB; j++) {
			const ex = xb[j]! - x;
			const ey = yb[j]! - y;
			sum += decay(Math.sqrt(ex * ex + ey * ey) * scale);
		}
	}
	return sum / (countA * countB);
}

/** Segments to be predicted, each with the neighbours it is predicted from. */
interface Sample {
	target: number;
	neighbours: Int32Array;
}

/**
 * Learns the model from how well segments are predicted by their neighbours (ordinary kriging): the product of
 * the predictive densities, a composite likelihood, is made greatest, each density with tails that do not run
 * after outliers. Half of the segments are predicted without their own pass, as the error that a pass keeps can
 * only be seen so.
 *
 * Source: Vecchia 1988, *JRSS B* 50:297, for likelihoods from small neighbourhoods.
 *
 * @param relative segments' yields over the field's mean
 */
export function learnErrors(
	segments: Segments,
	relative: Float64Array,
	smear_s: readonly number[],
): { model: ErrorModel; logLikelihood: number } {
	const samples = drawSamples(segments);
	const supports = supportsOf(segments, smear_s);
	const work = new Kriging(ASKED + 1);
	let bestPoint = [Math.log(PRIOR.sill[0]), Math.log(PRIOR.white[0]), Math.log(PRIOR.pass[0]), Math.log(PRIOR.slow[0])];
	const atRange = (logRange: number): number => {
		const shapes = crops(samples, supports, Math.exp(logRange));
		const cost = (point: number[]) => {
			const [sill, white, pass, slow] = point.map(Math.exp) as [number, number, number, number];
			const model = { sill, white, pass, slow, range_m: Math.exp(logRange) };
			return -logDensity(samples, shapes, segments, relative, model, work) + priorCost(point, logRange);
		};
		const { point, value } = descend(cost, bestPoint, 0.3, 90);
		bestPoint = point;
		return value;
	};
	const middle = Math.log(PRIOR_RANGE_M[0]);
	const logRange = goldenSection(atRange, middle - 2.3, middle + 2.8, 9);
	const value = atRange(logRange);
	const [sill, white, pass, slow] = bestPoint.map(Math.exp) as [number, number, number, number];
	return { model: { sill, white, pass, slow, range_m: Math.exp(logRange) }, logLikelihood: -value };
}

/** Root mean square by which segments are missed when predicted from other passes, relative: the mismatch. */
export function neighbourMismatch(
	segments: Segments,
	relative: Float64Array,
	smear_s: readonly number[],
	model: ErrorModel,
): number {
	const samples = drawSamples(segments, 900).filter((_, k) => k % 2 === 1);
	const supports = supportsOf(segments, smear_s);
	const work = new Kriging(ASKED + 1);
	const shapes = crops(samples, supports, model.range_m);
	const off: number[] = [];
	predictAll(samples, shapes, segments, relative, model, work, (miss) => off.push(miss * miss));
	// A trimmed mean: the worst two in a hundred are faults, not mismatch.
	off.sort((a, b) => a - b);
	const kept = off.slice(0, Math.ceil(0.98 * off.length));
	return Math.sqrt(kept.reduce((s, v) => s + v, 0) / Math.max(1, kept.length));
}

/** Every second sample is predicted from other passes only. */
function drawSamples(segments: Segments, wanted = SAMPLE): Sample[] {
	const near = new Near(segments.x_m, segments.y_m, 8, ASKED);
	const radius_m = 4 * median(segments.width_m) + 10;
	const every = Math.max(1, Math.floor(segments.n / wanted));
	const samples: Sample[] = [];
	for (let target = every >> 1; target < segments.n; target += every) {
		const own = segments.pass[target]!;
		const across = samples.length % 2 === 1;
		const skip = across ? (i: number) => segments.pass[i] === own : (i: number) => i === target;
		const count = near.search(segments.x_m[target]!, segments.y_m[target]!, radius_m, skip);
		if (count < ASKED / 2) continue;
		samples.push({ target, neighbours: near.found.slice(0, count) });
	}
	return samples;
}

/** The crop's part of each sample's covariances, sill 1: lower triangles, the target last. */
function crops(samples: Sample[], supports: Supports, range_m: number): Float64Array[] {
	const { points, x_m, y_m } = supports;
	return samples.map(({ target, neighbours }) => {
		const n = neighbours.length + 1;
		const shape = new Float64Array((n * (n + 1)) / 2);
		let k = 0;
		for (let i = 0; i < n; i++) {
			const a = (i < n - 1 ? neighbours[i]! : target) * points;
			for (let j = 0; j <= i; j++) {
				const b = (j < n - 1 ? neighbours[j]! : target) * points;
				shape[k++] = meanDecay(x_m, y_m, a, points, x_m, y_m, b, points, range_m);
			}
		}
		return shape;
	});
}

/** Error covariance of two segments, the crop's part left out. */
export function errorCovariance(segments: Segments, i: number, j: number, model: ErrorModel): number {
	let sum = 0;
	if (i === j) sum += (model.white * model.white) / segments.records[i]!;
	if (segments.pass[i] === segments.pass[j]) sum += model.pass * model.pass;
	if (segments.combine[i] === segments.combine[j]) {
		const apart_s = Math.abs(segments.time_s[i]! - segments.time_s[j]!);
		sum += model.slow * model.slow * decay(apart_s / SLOW_S);
	}
	return sum;
}

function predictAll(
	samples: Sample[],
	shapes: Float64Array[],
	segments: Segments,
	relative: Float64Array,
	model: ErrorModel,
	work: Kriging,
	each: (miss: number, variance: number) => void,
): void {
	const sill2 = model.sill * model.sill;
	const { most } = work;
	samples.forEach(({ target, neighbours }, s) => {
		const shape = shapes[s]!;
		const n = neighbours.length;
		let k = 0;
		for (let i = 0; i < n; i++) {
			for (let j = 0; j <= i; j++) {
				work.covariance[i * most + j] =
					sill2 * shape[k++]! + errorCovariance(segments, neighbours[i]!, neighbours[j]!, model);
			}
		}
		for (let j = 0; j < n; j++) {
			work.target[j] = sill2 * shape[k++]! + errorCovariance(segments, target, neighbours[j]!, model);
		}
		const own = sill2 * shape[k]! + errorCovariance(segments, target, target, model);
		const variance = work.solve(n, own);
		if (!(variance > 0)) return;
		let predicted = 0;
		for (let i = 0; i < n; i++) predicted += work.weights[i]! * relative[neighbours[i]!]!;
		each(relative[target]! - predicted, variance);
	});
}

function logDensity(
	samples: Sample[],
	shapes: Float64Array[],
	segments: Segments,
	relative: Float64Array,
	model: ErrorModel,
	work: Kriging,
): number {
	let sum = 0;
	predictAll(samples, shapes, segments, relative, model, work, (miss, variance) => {
		// Normal within 3 standard deviations, straight beyond (Huber): one bad stretch does not widen all.
		const z = Math.abs(miss) / Math.sqrt(variance);
		sum -= 0.5 * Math.log(variance) + (z <= 3 ? 0.5 * z * z : 3 * z - 4.5);
	});
	return sum;
}

function priorCost(point: number[], logRange: number): number {
	const parts: [number, [number, number]][] = [
		[point[0]!, PRIOR.sill],
		[point[1]!, PRIOR.white],
		[point[2]!, PRIOR.pass],
		[point[3]!, PRIOR.slow],
		[logRange, PRIOR_RANGE_M],
	];
	return parts.reduce((s, [log, [mean, u]]) => s + 0.5 * ((log - Math.log(mean)) / u) ** 2, 0);
}

/**
 * Minimum of a function of a few variables without derivatives.
 * Source: Nelder and Mead 1965, *The Computer Journal* 7:308, with the usual coefficients 1, 2, ½, ½.
 */
function descend(
	f: (point: number[]) => number,
	start: number[],
	size: number,
	evaluations: number,
): { point: number[]; value: number } {
	const n = start.length;
	let simplex = [start, ...start.map((_, k) => start.map((v, j) => (j === k ? v + size : v)))].map((point) => ({
		point,
		value: f(point),
	}));
	let used = n + 1;
	const along = (from: number[], to: number[], t: number) => from.map((v, j) => v + t * (to[j]! - v));
	while (used < evaluations) {
		simplex.sort((a, b) => a.value - b.value);
		const worst = simplex[n]!;
		const centre = start.map((_, j) => simplex.slice(0, n).reduce((s, v) => s + v.point[j]!, 0) / n);
		const tryAt = (t: number) => {
			const point = along(centre, worst.point, t);
			used++;
			return { point, value: f(point) };
		};
		const mirrored = tryAt(-1);
		if (mirrored.value < simplex[0]!.value) {
			const further = tryAt(-2);
			simplex[n] = further.value < mirrored.value ? further : mirrored;
		} else if (mirrored.value < simplex[n - 1]!.value) {
			simplex[n] = mirrored;
		} else {
			const nearer = tryAt(mirrored.value < worst.value ? -0.5 : 0.5);
			if (nearer.value < Math.min(mirrored.value, worst.value)) simplex[n] = nearer;
			else {
				const best = simplex[0]!.point;
				simplex = simplex.map((v, k) => {
					if (k === 0) return v;
					used++;
					const point = along(best, v.point, 0.5);
					return { point, value: f(point) };
				});
			}
		}
	}
	simplex.sort((a, b) => a.value - b.value);
	return simplex[0]!;
}
