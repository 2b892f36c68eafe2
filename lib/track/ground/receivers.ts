/**
 * Constant offsets of receivers and of header widths: an antenna off its machine's centerline (turns with the machine) and receivers that
 * differ by a shift on the ground (fixed direction) show at seams, since overlaps depend on who cut and in which direction.
 * A header set wider than it is overlaps its neighbors everywhere.
 */

import { backward, cholesky, forward } from '../../stats/cholesky.ts';
import { median } from '../../stats/median.ts';
import type { Pieces } from '../path/cut-pieces.ts';
import type { Sides } from './find-sides.ts';

export interface Receivers {
	/** Antenna to the right of the machine's middle, meters, one per combine. */
	right_m: number[];
	/** Shift of a combine's receiver relative to the first's: east, north, meters. */
	east_m: number[];
	north_m: number[];
	/** Width set less the spacing of passes, one per combine, with standard uncertainties, meters. */
	excess_m: number[];
	excess_u_m: number[];
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
 * Weak priors hold what the seams do not determine near zero, meters: what all headers are set too wide, what one is
 * beside the others, antennas, receivers.
 */
const PRIOR_M = { common: 1, own: 0.3, right: 0.4, shift: 1 };

/** The unknowns in order: a common excess; by combine its own, and its antenna; by combine after the first east and north. */
const unknowns = (combines: number) => 1 + 2 * combines + 2 * (combines - 1);

/** Robust least squares over seams: overlap = half of both excesses + a·(combines, directions) + g·(combines, directions). */
export function findReceivers(pieces: Pieces, sides: Sides, combines: number): Receivers {
	const seen = seams(pieces, sides, combines);
	const none = () => new Array<number>(combines).fill(0);
	const usual_m = seen.length === 0 ? 0 : median(seen.map((s) => s.overlap));
	const found: Receivers = {
		right_m: none(),
		east_m: none(),
		north_m: none(),
		excess_m: none(),
		excess_u_m: none(),
		overlap_m: usual_m,
		spread_m: 0.2,
		seams: seen.length,
	};
	if (seen.length < 4) return found;
	const width = seen[0]!.row.length;
	const prior = Float64Array.from({ length: width }, (_, p) => {
		if (p === 0) return 1 / PRIOR_M.common ** 2;
		return 1 / (p <= combines ? PRIOR_M.own : p <= 2 * combines ? PRIOR_M.right : PRIOR_M.shift) ** 2;
	});
	let solution: Float64Array = new Float64Array(width);
	let lower: Float64Array = new Float64Array(width * width);
	// At first all seams count, however far off: offsets that many of them show would look like outliers.
	let scale = 2;
	for (let round = 0; round < 12; round++) {
		const normal = new Float64Array(width * width);
		const side = new Float64Array(width);
		for (let p = 0; p < width; p++) normal[p * width + p]! += prior[p]!;
		const residuals: number[] = [];
		for (const s of seen) {
			const r = round === 0 ? 0 : s.overlap - along(s.row, solution);
			residuals.push(Math.abs(r));
			const u = r / (4 * scale);
			const w = Math.abs(u) < 1 ? ((1 - u * u) ** 2 * s.weight) / scale ** 2 : 0;
			for (let p = 0; p < width; p++) {
				side[p]! += w * s.row[p]! * s.overlap;
				for (let q = 0; q < width; q++) normal[p * width + q]! += w * s.row[p]! * s.row[q]!;
			}
		}
		lower = cholesky(normal, width);
		solution = backward(lower, width, forward(lower, width, side));
		scale = Math.max(2 ** -round, Math.min(0.5, Math.max(0.05, 1.4826 * median(residuals))));
	}
	for (let c = 0; c < combines; c++) {
		found.excess_m[c] = solution[0]! + solution[1 + c]!;
		const unit = new Float64Array(width);
		unit[0] = unit[1 + c] = 1;
		const spread = backward(lower, width, forward(lower, width, unit));
		found.excess_u_m[c] = Math.sqrt(spread[0]! + spread[1 + c]!);
		found.right_m[c] = solution[1 + combines + c]!;
		if (c === 0) continue;
		found.east_m[c] = solution[2 * combines + 2 * c - 1]!;
		found.north_m[c] = solution[2 * combines + 2 * c]!;
	}
	found.overlap_m = median(seen.map((s) => along(s.row.slice(0, 1 + combines), solution)));
	found.spread_m = scale;
	return found;
}

/** Middles of the pieces with the receivers' constant offsets taken out. */
export function withoutOffsets(
	{ n, combine, x_m, y_m, ux, uy }: Pieces,
	{ right_m, east_m, north_m }: Pick<Receivers, 'right_m' | 'east_m' | 'north_m'>,
): { x_m: Float64Array; y_m: Float64Array } {
	const places = { x_m: x_m.slice(), y_m: y_m.slice() };
	for (let i = 0; i < n; i++) {
		const c = combine[i]!;
		places.x_m[i]! -= right_m[c]! * uy[i]! + east_m[c]!;
		places.y_m[i]! -= north_m[c]! - right_m[c]! * ux[i]!;
	}
	return places;
}

/** Offsets found after others were taken out, with those. */
export function offsetsTogether(first: Receivers, then: Receivers): Receivers {
	const sum = (of: 'right_m' | 'east_m' | 'north_m') => then[of].map((m, c) => first[of][c]! + m);
	return { ...then, right_m: sum('right_m'), east_m: sum('east_m'), north_m: sum('north_m') };
}

/** The overlap that some of the unknowns make. */
function along(row: readonly number[], solution: Float64Array): number {
	return row.reduce((sum, v, p) => sum + v * solution[p]!, 0);
}

/** One row per stretch of seam: both passes, one side, mean over up to 60 pieces. */
function seams(pieces: Pieces, sides: Sides, combines: number): Seen[] {
	const width = unknowns(combines);
	const groups = new Map<string, { n: number; overlap: number; row: Float64Array; count: number }>();
	for (let i = 0; i < pieces.n; i++) {
		for (const side of [0, 1] as const) {
			const j = sides.piece[side][i]!;
			const overlap = sides.overlap_m[side][i]!;
			if (j < 0 || !(Math.abs(overlap) < sides.share * pieces.width_m[i]!)) continue;
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
			g.row[1 + cs]! += 0.5;
			g.row[1 + cn]! += 0.5;
			g.row[1 + combines + cs]! += sign;
			g.row[1 + combines + cn]! -= nx * pieces.uy[j]! - ny * pieces.ux[j]!;
			for (const [c, toward] of [
				[cs, 1],
				[cn, -1],
			] as const) {
				if (c === 0) continue;
				g.row[2 * combines + 2 * c - 1]! += toward * nx;
				g.row[2 * combines + 2 * c]! += toward * ny;
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
