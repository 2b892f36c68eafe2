/**
 * Ground already cut beside and across every piece when the header came: on each side the parallel neighbor with its
 * signed overlap, and along the header line the ground cut by crossing passes.
 */

import type { Rings } from '../../geo/ring.ts';
import type { Each } from '../../model/index.ts';
import type { Pieces } from '../path/cut-pieces.ts';
import { type Fence, fenceOf } from './fence.ts';
import { type Cells, cellsOf } from './ground-cells.ts';

/** Columns of length `pieces.n`; index 0 left, 1 right of travel. */
export interface Sides {
	/** Overlap with the parallel neighbor cut before, meters; negative = a gap; NaN = no neighbor. */
	overlap_m: [Float64Array, Float64Array];
	/** That neighbor's piece, −1 none, −2 the boundary. */
	piece: [Int32Array, Int32Array];
	/** Widest gap of a seam, as a share of the header. */
	share: number;
	/** By piece: parts of the header line already cut by crossing passes, [from, to] pairs along the line, right positive. */
	crossed: Map<number, Float64Array>;
}

/** Stands for the boundary in place of a neighbor's piece. */
export const FENCE = -2;

/** Passes within this angle are parallel: cos 20°. */
const PARALLEL = Math.cos((20 * Math.PI) / 180);

/** A gap wider than this share of the header is not a seam … */
export const SEAM_SHARE = 0.16;
/** … nor this one, as long as receivers' offsets are not known. */
export const WIDE_SHARE = 0.45;

/** Pieces looked at by one part of the work. */
const PART = 1 << 16;

/**
 * Finds each piece's neighbors that were cut before it.
 *
 * @param x_m, y_m middles of the pieces, receivers' constant offsets taken out
 * @param boundary - the boundary's rings, null = none in use
 * @param every - process one piece in this many (others stay NaN)
 * @param share - widest gap of a seam, as a share of the header
 */
export function findSides(
	{ pieces, x_m, y_m, boundary, every = 1, share = SEAM_SHARE }: Places & { every?: number; share?: number },
	each: Each,
): Sides {
	const { n } = pieces;
	const nan = () => new Float64Array(n).fill(Number.NaN);
	const none = () => new Int32Array(n).fill(-1);
	const sides: Sides = { overlap_m: [nan(), nan()], piece: [none(), none()], share, crossed: new Map() };
	const among = { pieces, x_m, y_m, boundary, share, cells: cellsOf(pieces, x_m, y_m, share) };
	const parts: SidesPart[] = [];
	for (let from = 0; from < n; from += every * PART) {
		parts.push({ ...among, from, every, count: Math.min(PART, Math.ceil((n - from) / every)) });
	}
	each(sidesOfPart, parts).forEach((found, p) => {
		const { from, count } = parts[p]!;
		for (const side of [0, 1] as const) {
			for (let k = 0; k < count; k++) {
				sides.overlap_m[side][from + every * k] = found.overlap_m[side][k]!;
				sides.piece[side][from + every * k] = found.piece[side][k]!;
			}
		}
		for (const [k, pairs] of found.crossed) sides.crossed.set(from + every * k, pairs);
	});
	return sides;
}

interface Places {
	pieces: Pieces;
	x_m: Float64Array;
	y_m: Float64Array;
	boundary: Rings | null;
}

/** `count` pieces, one in `every` from `from` on. */
interface SidesPart extends Places {
	cells: Cells;
	share: number;
	from: number;
	every: number;
	count: number;
}

/** The sides of some pieces, in their order. */
export function sidesOfPart({ pieces, x_m, y_m, cells, boundary, share, from, every, count }: SidesPart): Sides {
	const surroundings = { pieces, x_m, y_m, cells, fence: boundary === null ? null : fenceOf(boundary) };
	const nan = () => new Float64Array(count).fill(Number.NaN);
	const none = () => new Int32Array(count).fill(-1);
	const sides: Sides = { overlap_m: [nan(), nan()], piece: [none(), none()], share, crossed: new Map() };
	for (let k = 0; k < count; k++) sidesAt(from + every * k, surroundings, sides, k);
	return sides;
}

interface Surroundings {
	pieces: Pieces;
	x_m: Float64Array;
	y_m: Float64Array;
	cells: Cells;
	fence: Fence | null;
}

/** Finds the neighbors of piece `i` among the pieces before it, and puts them at `k` of `sides`. */
function sidesAt(i: number, { pieces, x_m, y_m, cells, fence }: Surroundings, sides: Sides, k: number): void {
	const { ux, uy, width_m, length_m, combine, way_m } = pieces;
	const x = x_m[i]!;
	const y = y_m[i]!;
	const hx = ux[i]!;
	const hy = uy[i]!;
	// To the right of travel.
	const nx = hy;
	const ny = -hx;
	const half = width_m[i]! / 2;
	const seam = sides.share * width_m[i]!;
	const line = half + seam;
	const column = Math.floor((x - cells.x0_m) / cells.size_m);
	const row = Math.floor((y - cells.y0_m) / cells.size_m);
	let taken: number[] | null = null;
	const best = [-Infinity, -Infinity];
	const who = [-1, -1];
	for (let r = Math.max(0, row - 1); r <= Math.min(cells.rows - 1, row + 1); r++) {
		for (let c = Math.max(0, column - 1); c <= Math.min(cells.columns - 1, column + 1); c++) {
			const square = r * cells.columns + c;
			for (let q = cells.start[square]!; q < cells.start[square + 1]!; q++) {
				const j = cells.items[q]!;
				if (j >= i) break;
				const dx = x_m[j]! - x;
				const dy = y_m[j]! - y;
				const hw = width_m[j]! / 2;
				const hl = length_m[j]! / 2 + 0.05;
				const far = line + hw + hl;
				if (dx * dx + dy * dy > far * far) continue;
				// Ground that the combine has just cut itself is not a neighbor.
				if (combine[j] === combine[i] && way_m[i]! - way_m[j]! < 1.25 * width_m[i]!) continue;
				const cos = hx * ux[j]! + hy * uy[j]!;
				const sin = nx * ux[j]! + ny * uy[j]!;
				// The line (x, y) + s·n in the neighbor's frame: along = a0 + s·sin, across = b0 + s·cos.
				const a0 = -(dx * ux[j]! + dy * uy[j]!);
				const b0 = -(dx * uy[j]! - dy * ux[j]!);
				let low = -line;
				let high = line;
				if (Math.abs(sin) > 1e-9) {
					const p = (-hl - a0) / sin;
					const t = (hl - a0) / sin;
					low = Math.max(low, Math.min(p, t));
					high = Math.min(high, Math.max(p, t));
				} else if (Math.abs(a0) > hl) continue;
				if (Math.abs(cos) > 1e-9) {
					const p = (-hw - b0) / cos;
					const t = (hw - b0) / cos;
					if (Math.abs(cos) > PARALLEL) {
						if (!(high > low)) continue;
						const from = Math.min(p, t);
						const to = Math.max(p, t);
						const middle = (from + to) / 2;
						const side = middle < 0 ? 0 : 1;
						const overlap = side === 0 ? to + half : half - from;
						// Its strip must meet the header line or lie just beyond its end.
						if (overlap < -seam || overlap <= best[side]!) continue;
						best[side] = overlap;
						who[side] = j;
						continue;
					}
					low = Math.max(low, Math.min(p, t));
					high = Math.min(high, Math.max(p, t));
				} else if (Math.abs(b0) > hw) continue;
				low = Math.max(low, -half);
				high = Math.min(high, half);
				if (high > low) {
					taken ??= [];
					taken.push(low, high);
				}
			}
		}
	}
	const out = fence?.outside(x, y, hx, hy, line) ?? null;
	if (out !== null) {
		out.alongTo.forEach((alongTo, q) => {
			const from = out.pairs[2 * q]!;
			const to = out.pairs[2 * q + 1]!;
			// A boundary parallel to the machine is a neighbor; one at an angle cuts the header line.
			if (from <= -line && alongTo) {
				if (to + half > best[0]!) {
					best[0] = to + half;
					who[0] = FENCE;
				}
			} else if (to >= line && out.alongFrom[q]) {
				if (half - from > best[1]!) {
					best[1] = half - from;
					who[1] = FENCE;
				}
			} else if (Math.min(to, half) > Math.max(from, -half)) {
				taken ??= [];
				taken.push(Math.max(from, -half), Math.min(to, half));
			}
		});
	}
	for (const side of [0, 1] as const) {
		if (who[side] === -1) continue;
		sides.overlap_m[side][k] = best[side]!;
		sides.piece[side][k] = who[side]!;
	}
	if (taken !== null) sides.crossed.set(k, union(taken));
}

/** Joins overlapping pairs and closes gaps under 0.4 m (pieces in a curve do not quite meet). */
function union(pairs: number[]): Float64Array {
	const order = Array.from({ length: pairs.length / 2 }, (_, k) => k).sort((a, b) => pairs[2 * a]! - pairs[2 * b]!);
	const out: number[] = [];
	for (const k of order) {
		const from = pairs[2 * k]!;
		const to = pairs[2 * k + 1]!;
		if (out.length > 0 && from <= out[out.length - 1]! + 0.4) {
			out[out.length - 1] = Math.max(out[out.length - 1]!, to);
		} else out.push(from, to);
	}
	return Float64Array.from(out);
}
