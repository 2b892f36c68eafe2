/**
 * Constant offsets of receivers: an antenna off its machine's centerline (turns with the machine) and receivers that
 * differ by a shift on the ground (fixed direction). Both show at seams: overlaps depend on who cut and in which direction.
 */

import { backward, cholesky, forward } from '../../stats/gls.ts';
import { median } from '../../stats/median.ts';
import type { Pieces } from '../path/pieces.ts';
import { SEAM_SHARE, type Sides } from './sides.ts';

export interface Receivers {
	/** Antenna to the right of the machine's middle, meters, one per combine. */
	right_m: number[];
	/** Shift of a combine's receiver relative to the first's: east, north, meters. */
	east_m: number[];
	north_m: number[];
	/** Usual overlap at full-width seams without these offsets, meters, and its spread by pass. */
	overlap_m: number;
	spread_m: number;
	seams: number;
}

interface Seen {
	row: number[];
	overlap: number;
	weight: number;
}

/**
 * Robust least squares over seams: overlap = usual + a·(combines, directions) + g·(combines, directions).
 *
 * @param combines - number of combines
 * @param expected_m - the overlap that full-width seams have by design (0 where the header takes whole rows); NaN = free
 */
export function findReceivers(pieces: Pieces, sides: Sides, combines: number, expected_m: number): Receivers {
	const seen = seams(pieces, sides, combines);
	const right_m = new Array<number>(combines).fill(0);
	const east_m = new Array<number>(combines).fill(0);
	const north_m = new Array<number>(combines).fill(0);
	if (seen.length < 4) {
		return {
			right_m,
			east_m,
			north_m,
			overlap_m: seen.length === 0 ? 0 : median(seen.map((s) => s.overlap)),
			spread_m: 0.2,
			seams: seen.length,
		};
	}
	const width = seen[0]!.row.length;
	// Weak priors hold what the seams do not determine near zero: antennas within 0.4 m, receivers within 1 m.
	const prior = new Float64Array(width);
	const mean = new Float64Array(width);
	prior[0] = Number.isFinite(expected_m) ? 1 / 0.1 ** 2 : 1 / 0.5 ** 2;
	mean[0] = Number.isFinite(expected_m) ? expected_m : 0;
	for (let c = 0; c < combines; c++) prior[1 + c] = 1 / 0.4 ** 2;
	for (let p = 1 + combines; p < width; p++) prior[p] = 1;
	let solution: Float64Array = new Float64Array(width);
	let scale = 0.4;
	for (let round = 0; round < 12; round++) {
		const normal = new Float64Array(width * width);
		const side = new Float64Array(width);
		for (let p = 0; p < width; p++) {
			normal[p * width + p]! += prior[p]!;
			side[p]! += prior[p]! * mean[p]!;
		}
		const residuals: number[] = [];
		for (const s of seen) {
			let fit = 0;
			for (let p = 0; p < width; p++) fit += s.row[p]! * solution[p]!;
			const r = s.overlap - (round === 0 ? median(seen.map((q) => q.overlap)) : fit);
			residuals.push(Math.abs(r));
			const u = r / (4 * scale);
			const w = Math.abs(u) < 1 ? ((1 - u * u) ** 2 * s.weight) / scale ** 2 : 0;
			for (let p = 0; p < width; p++) {
				side[p]! += w * s.row[p]! * s.overlap;
				for (let q = 0; q < width; q++) normal[p * width + q]! += w * s.row[p]! * s.row[q]!;
			}
		}
		const lower = cholesky(normal, width);
		solution = backward(lower, width, forward(lower, width, side));
		scale = Math.min(0.5, Math.max(0.05, 1.4826 * median(residuals)));
	}
	for (let c = 0; c < combines; c++) right_m[c] = solution[1 + c]!;
	for (let c = 1; c < combines; c++) {
		east_m[c] = solution[1 + combines + 2 * (c - 1)]!;
		north_m[c] = solution[2 + combines + 2 * (c - 1)]!;
	}
	return { right_m, east_m, north_m, overlap_m: solution[0]!, spread_m: scale, seams: seen.length };
}

/** One row per stretch of seam: both passes, one side, mean over up to 60 pieces. */
function seams(pieces: Pieces, sides: Sides, combines: number): Seen[] {
	const width = 1 + combines + 2 * (combines - 1);
	const groups = new Map<string, { n: number; overlap: number; row: Float64Array; count: number }>();
	for (let i = 0; i < pieces.n; i++) {
		for (const side of [0, 1] as const) {
			const j = sides.piece[side][i]!;
			const overlap = sides.overlap_m[side][i]!;
			if (j < 0 || !(Math.abs(overlap) < SEAM_SHARE * pieces.width_m[i]!)) continue;
			if (pieces.pass[i]! < 0 || pieces.pass[j]! < 0) continue;
			const key = `${pieces.pass[i]}/${pieces.pass[j]}/${side}`;
			let g = groups.get(key);
			if (g === undefined) groups.set(key, (g = { n: 0, overlap: 0, row: new Float64Array(width), count: 0 }));
			const sign = side === 0 ? -1 : 1;
			// Toward the neighbor.
			const nx = sign * pieces.uy[i]!;
			const ny = -sign * pieces.ux[i]!;
			const cs = pieces.combine[i]!;
			const cn = pieces.combine[j]!;
			g.n++;
			g.overlap += overlap;
			g.row[0]! += 1;
			g.row[1 + cs]! += sign;
			g.row[1 + cn]! -= nx * pieces.uy[j]! - ny * pieces.ux[j]!;
			if (cs > 0) {
				g.row[1 + combines + 2 * (cs - 1)]! += nx;
				g.row[2 + combines + 2 * (cs - 1)]! += ny;
			}
			if (cn > 0) {
				g.row[1 + combines + 2 * (cn - 1)]! -= nx;
				g.row[2 + combines + 2 * (cn - 1)]! -= ny;
			}
		}
	}
	const out: Seen[] = [];
	for (const g of groups.values()) {
		if (g.n < 5) continue;
		out.push({
			row: Array.from(g.row, (v) => v / g.n),
			overlap: g.overlap / g.n,
			weight: Math.min(1, g.n / 30),
		});
	}
	return out;
}
