/** Records that differ from those just before and after them in the same pass by more than the sensor's noise. */

import { mad } from '../../stats/median.ts';

export interface RecordOutliers {
	/** Log of each record's yield over the median of its neighbors; NaN where there are too few. */
	log: Float64Array;
	/** Robust standard deviation of `log`. */
	noise: number;
}

/** Neighbors on each side. */
const REACH = 6;

/**
 * Compares each record with those just before and after it in its pass.
 *
 * @param kg - account mass by record in the path's order
 * @param area_m2 - the ground that it came from
 * @param usable - 1 where the record may serve as a neighbor
 * @param pass - of each record, −1 none
 */
export function findRecordOutliers(
	kg: Float64Array,
	area_m2: Float64Array,
	usable: Uint8Array,
	pass: Int32Array,
): RecordOutliers {
	const n = kg.length;
	const value = new Float64Array(n).fill(Number.NaN);
	for (let k = 0; k < n; k++) {
		if (kg[k]! > 0 && area_m2[k]! > 0) value[k] = Math.log(kg[k]! / area_m2[k]!);
	}
	const log = new Float64Array(n).fill(Number.NaN);
	const some: number[] = [];
	const near = new Float64Array(2 * REACH);
	const every = Math.max(1, Math.floor(n / 50_000));
	for (let k = 0; k < n; k++) {
		if (Number.isNaN(value[k]!) || pass[k]! < 0) continue;
		let m = 0;
		for (let q = Math.max(0, k - REACH); q <= Math.min(n - 1, k + REACH); q++) {
			if (q === k || !usable[q] || pass[q] !== pass[k] || Number.isNaN(value[q]!)) continue;
			// Insertion sort, which is fastest for a dozen values.
			let at = m++;
			for (; at > 0 && near[at - 1]! > value[q]!; at--) near[at] = near[at - 1]!;
			near[at] = value[q]!;
		}
		if (m < 4) continue;
		log[k] = value[k]! - (near[m >> 1]! + near[(m - 1) >> 1]!) / 2;
		if (usable[k] && k % every === 0) some.push(log[k]!);
	}
	return { log, noise: some.length > 20 ? mad(some, 0) : 0.05 };
}
