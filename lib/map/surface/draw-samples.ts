import type { ErrorModel } from '../../model/index.ts';
import { median } from '../../stats/index.ts';
import type { Supports } from '../records/support.ts';
import { meanDecay, recordsIn, slowCorrelation } from './covariance.ts';
import type { Kriging } from './krige.ts';
import { Near } from './near-segments.ts';
import type { Segments } from './segments.ts';

/** Most neighbors from which a segment is predicted. */
export const ASKED = 16;

/**
 * A segment to be predicted and its neighbors (`members`, the target last), with the parts of their covariances as lower
 * triangles, row by row.
 */
export interface Sample {
	members: Int32Array;
	/** The crop's part at sill 1. */
	crop: Float64Array;
	/** 1 where two are of the same pass. */
	samePass: Uint8Array;
	/** Correlation of two slow errors, 0…1. */
	slow: Float64Array;
	/** 1 / records of each member. */
	share: Float64Array;
}

/** Draws evenly spaced samples; every second one is predicted from other passes only. */
export function drawSamples(segments: Segments, wanted: number): Sample[] {
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
		share: Float64Array.from(list, (i) => 1 / recordsIn(segments, i)),
	};
	let k = 0;
	for (let i = 0; i < n; i++) {
		for (let j = 0; j <= i; j++) {
			sample.samePass[k] = segments.pass[list[i]!] === segments.pass[list[j]!] ? 1 : 0;
			sample.slow[k++] = slowCorrelation(segments, list[i]!, list[j]!);
		}
	}
	return sample;
}

/** Computes the crop's part of a sample's covariances for a range. */
export function shapeCrop({ members, crop }: Sample, supports: Supports, range_m: number): void {
	let k = 0;
	for (let i = 0; i < members.length; i++) {
		for (let j = 0; j <= i; j++) crop[k++] = meanDecay(supports, members[i]!, supports, members[j]!, range_m);
	}
}

/** Predicts each sample's target from the others by ordinary kriging; `work` holds the solution when `each` is called. */
export function predictAll(
	samples: readonly Sample[],
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
