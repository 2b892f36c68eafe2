import { median } from '../../stats/index.ts';
import { type Supports, supportsOf } from '../records/support.ts';
import { Kriging } from './krige.ts';
import { Near } from './near.ts';
import type { Segments } from './segments.ts';

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
const SAMPLE = 400;

/**
 * What is expected before the field has spoken, and how far it may be off (natural log): monitors err slowly by
 * about a per cent, receivers wander by a decimetre or two on a header of several metres (method.md, sections 3
 * and 4). Fields speak clearly on the rest, where the prior is as good as flat.
 */
const PRIOR: Record<'sill' | 'white' | 'pass' | 'slow', [number, number]> = {
	sill: [0.08, 1.5],
	white: [0.05, 1.5],
	pass: [0.01, 0.6],
	slow: [0.009, 0.5],
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

/**
 * Learns the model from how well segments are predicted by their neighbours (ordinary kriging): the product of
 * the predictive densities, a composite likelihood, is made greatest, each density with tails that do not run
 * after outliers. Half of the segments are predicted without their own pass, as the error that a pass keeps can
 * only be seen so.
 *
 * Source: Vecchia 1988, *JRSS B* 50:297, for likelihoods from small neighbourhoods.
 *
 * @param relative segments' yields over the field's mean
 * @param near a model known to be close: the search stays around it
 */
export function learnErrors(
	segments: Segments,
	relative: Float64Array,
	smear_s: readonly number[],
	near?: ErrorModel,
): { model: ErrorModel; logLikelihood: number } {
	const supports = supportsOf(segments, smear_s);
	const samples = drawSamples(segments, SAMPLE);
	const work = new Kriging(ASKED);
	let best: { point: number[]; logRange: number; value: number } | null = null;
	const at = (logRange: number, start: number[], turns: number) => {
		for (const sample of samples) sample.crop = cropShape(sample, supports, Math.exp(logRange));
		const cost = (point: number[]) =>
			priorCost(point, logRange) - logDensity(samples, relative, modelOf(point, logRange), work);
		const found = { ...descend(cost, start, 0.3, turns), logRange };
		if (best === null || found.value < best.value) best = found;
		return found;
	};
	if (near) {
		let start = [near.sill, near.white, near.pass, near.slow].map(Math.log);
		for (const side of [0, -0.3, 0.3]) start = at(Math.log(near.range_m) + side, start, 50).point;
		const { point, logRange, value } = best!;
		return { model: modelOf(point, logRange), logLikelihood: -value };
	}
	// The valley in range is flat and may have a second dip: walk it first, then look closer around the best.
	let start = START;
	const walk = RANGES_M.map((range_m) => {
		const found = at(Math.log(range_m), start, 50);
		start = found.point;
		return found;
	});
	const lowest = walk.reduce((a, b) => (b.value < a.value ? b : a));
	for (const side of [-0.25, 0.25]) at(lowest.logRange + side, lowest.point, 50);
	const { point, logRange, value } = best!;
	return { model: modelOf(point, logRange), logLikelihood: -value };
}

/** Ranges that are tried, from a header's width to a field's. */
const RANGES_M = [12, 20, 33, 55, 90, 150];
const START = [PRIOR.sill[0], PRIOR.white[0], PRIOR.pass[0], PRIOR.slow[0]].map(Math.log);

function modelOf(point: number[], logRange: number): ErrorModel {
	const [sill, white, pass, slow] = point.map(Math.exp) as [number, number, number, number];
	return { sill, white, pass, slow, range_m: Math.exp(logRange) };
}

/** Squares by which segments are missed when they are predicted from other passes, relative; NaN where not. */
export function neighbourMisses(
	segments: Segments,
	relative: Float64Array,
	smear_s: readonly number[],
	model: ErrorModel,
): Float64Array {
	const samples = drawSamples(segments, 3 * SAMPLE).filter((_, k) => k % 2 === 1);
	const supports = supportsOf(segments, smear_s);
	for (const sample of samples) sample.crop = cropShape(sample, supports, model.range_m);
	const misses = new Float64Array(samples.length).fill(Number.NaN);
	predictAll(samples, relative, model, new Kriging(ASKED), (miss, _, k) => {
		misses[k] = miss * miss;
	});
	return misses;
}

/**
 * A segment to be predicted and the neighbours it is predicted from (`members`, the target last), with what their
 * covariances are made of: lower triangles, row after row.
 */
interface Sample {
	members: Int32Array;
	/** The crop's part at sill 1. */
	crop: Float64Array;
	/** 1 where two are of one pass. */
	samePass: Uint8Array;
	/** How alike two slow errors are, 0…1. */
	slow: Float64Array;
	/** 1 / records of each member. */
	share: Float64Array;
}

/** Every second sample is predicted from other passes only. */
function drawSamples(segments: Segments, wanted: number): Sample[] {
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
		samples.push(sampleOf(segments, [...near.found.slice(0, count), target]));
	}
	return samples;
}

function sampleOf(segments: Segments, list: number[]): Sample {
	const n = list.length;
	const half = (n * (n + 1)) / 2;
	const sample: Sample = {
		members: Int32Array.from(list),
		crop: new Float64Array(half),
		samePass: new Uint8Array(half),
		slow: new Float64Array(half),
		share: Float64Array.from(list, (i) => 1 / segments.records[i]!),
	};
	let k = 0;
	for (let i = 0; i < n; i++) {
		for (let j = 0; j <= i; j++) {
			sample.samePass[k] = segments.pass[list[i]!] === segments.pass[list[j]!] ? 1 : 0;
			sample.slow[k++] = slowLikeness(segments, list[i]!, list[j]!);
		}
	}
	return sample;
}

function cropShape({ members }: Sample, supports: Supports, range_m: number): Float64Array {
	const { points, x_m, y_m } = supports;
	const n = members.length;
	const shape = new Float64Array((n * (n + 1)) / 2);
	let k = 0;
	for (let i = 0; i < n; i++) {
		const a = members[i]! * points;
		for (let j = 0; j <= i; j++) {
			shape[k++] = meanDecay(x_m, y_m, a, points, x_m, y_m, members[j]! * points, points, range_m);
		}
	}
	return shape;
}

/** How alike two segments' slow errors are, 0…1. */
function slowLikeness(segments: Segments, i: number, j: number): number {
	if (segments.combine[i] !== segments.combine[j]) return 0;
	const apart_s = Math.abs(segments.time_s[i]! - segments.time_s[j]!);
	// Records may have no time; then nothing is known of how alike their errors are.
	return Number.isFinite(apart_s) ? decay(apart_s / SLOW_S) : 0;
}

/** Error covariance of two segments, the crop's part left out. */
export function errorCovariance(segments: Segments, i: number, j: number, model: ErrorModel): number {
	let sum = 0;
	if (i === j) sum += (model.white * model.white) / segments.records[i]!;
	if (segments.pass[i] === segments.pass[j]) sum += model.pass * model.pass;
	return sum + model.slow * model.slow * slowLikeness(segments, i, j);
}

function predictAll(
	samples: Sample[],
	relative: Float64Array,
	model: ErrorModel,
	work: Kriging,
	each: (miss: number, variance: number, sample: number) => void,
): void {
	const sill2 = model.sill ** 2;
	const pass2 = model.pass ** 2;
	const slow2 = model.slow ** 2;
	const white2 = model.white ** 2;
	const { most, covariance, target, weights } = work;
	for (let s = 0; s < samples.length; s++) {
		const { members, crop, samePass, slow, share } = samples[s]!;
		const n = members.length - 1;
		let k = 0;
		for (let i = 0; i < n; i++) {
			for (let j = 0; j <= i; j++, k++) {
				covariance[i * most + j] = sill2 * crop[k]! + pass2 * samePass[k]! + slow2 * slow[k]!;
			}
			covariance[i * most + i]! += white2 * share[i]!;
		}
		for (let j = 0; j < n; j++, k++) target[j] = sill2 * crop[k]! + pass2 * samePass[k]! + slow2 * slow[k]!;
		const own = sill2 * crop[k]! + pass2 + slow2 + white2 * share[n]!;
		const variance = work.solve(n, own);
		if (!(variance > 0)) continue;
		let predicted = 0;
		for (let i = 0; i < n; i++) predicted += weights[i]! * relative[members[i]!]!;
		each(relative[members[n]!]! - predicted, variance, s);
	}
}

function logDensity(samples: Sample[], relative: Float64Array, model: ErrorModel, work: Kriging): number {
	let sum = 0;
	predictAll(samples, relative, model, work, (miss, variance) => {
		// Normal within 3 standard deviations, flat beyond: a few bad stretches do not widen all the others.
		sum -= 0.5 * (Math.log(variance) + Math.min(9, (miss * miss) / variance));
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
