/**
 * New ground of every piece. So that a receiver's wander does not reduce area, overlap with a parallel neighbor is
 * smoothed along the pass and, where it is no larger than wander, replaced by the usual overlap of the field's seams
 * (small gaps and small overlaps then cancel). Where the header takes whole rows, the width is a whole number of rows.
 */

import { columnOf } from '../../stats/index.ts';
import type { Pieces } from '../path/cut-pieces.ts';
import { SortedWindow } from '../path/window.ts';
import { FENCE, SEAM_SHARE, type Sides } from './find-sides.ts';
import type { Reassigned } from './overlap.ts';

/** Columns of length `pieces.n`. */
export interface Ground {
	/** Mean width newly cut, meters. */
	new_m: Float64Array;
	/** Its ends along the header line, right of the middle positive. */
	left_m: Float64Array;
	right_m: Float64Array;
	/** An overlap within this distance of the usual one is taken to be wander. */
	tolerance_m: number;
}

/** Half the stretch over which overlap is judged, meters. */
const STRETCH_M = 30;

/**
 * Width newly cut by each piece.
 *
 * @param input - `overlaps`: by side, smoothed along the passes; `seams`: usual overlap at full-width seams and its spread
 *   by pass; `row_m`: row spacing by combine, NaN where not known; `reassigned`: null = no overlaps reassigned
 */
export function newGround(input: {
	pieces: Pieces;
	sides: Sides;
	overlaps: readonly [Float64Array, Float64Array];
	seams: { overlap_m: number; spread_m: number };
	row_m: number[];
	reassigned: Reassigned | null;
	refuted: readonly [Uint8Array, Uint8Array] | null;
}): Ground {
	const { pieces, sides, overlaps, row_m, reassigned, refuted } = input;
	const { overlap_m: usual_m, spread_m } = input.seams;
	const { n, width_m } = pieces;
	const new_m = new Float64Array(n);
	const left_m = new Float64Array(n);
	const right_m = new Float64Array(n);
	const lost =
		reassigned === null ? null : ([fill(pieces, reassigned.lost_m[0]), fill(pieces, reassigned.lost_m[1])] as const);
	const tolerance_m = Math.max(0.35, 3 * spread_m);
	const wander = { usual_m, tolerance_m };
	for (let i = 0; i < n; i++) {
		const w = width_m[i]!;
		const rows = row_m[pieces.combine[i]!]!;
		const none = rows > 0 ? usual_m : 0;
		let l = judged(overlaps[0][i]!, sides.piece[0][i]!, none, w, wander);
		let r = judged(overlaps[1][i]!, sides.piece[1][i]!, none, w, wander);
		if (rows > 0) {
			// Whole rows; the rows lost go to the side that overlaps.
			l = Math.max(0, Math.round((l - usual_m) / rows) * rows);
			r = Math.max(0, Math.round((r - usual_m) / rows) * rows);
		}
		if (refuted?.[0][i]) l = 0;
		if (refuted?.[1][i]) r = 0;
		if (reassigned !== null && lost !== null) {
			const whole = (v: number) => (Number.isNaN(v) ? 0 : rows > 0 ? Math.round(v / rows) * rows : v);
			l = (reassigned.kept[0][i] ? 0 : l) + whole(lost[0][i]!);
			r = (reassigned.kept[1][i] ? 0 : r) + whole(lost[1][i]!);
		}
		let from = -w / 2 + l;
		let to = w / 2 - r;
		if (to - from < 0.06 * w) to = from = (from + to) / 2;
		let width = to - from;
		const crossed = sides.crossed.get(i);
		if (crossed !== undefined && width > 0) {
			const free: [number, number][] = [];
			let at = from;
			for (let q = 0; q < crossed.length; q += 2) {
				if (crossed[q]! > at) free.push([at, Math.min(to, crossed[q]!)]);
				at = Math.max(at, crossed[q + 1]!);
				if (at >= to) break;
			}
			if (at < to) free.push([at, to]);
			// Slivers come from edges that do not quite meet.
			const kept = free.filter(([a, b]) => b - a > 0.3);
			width = kept.reduce((sum, [a, b]) => sum + b - a, 0);
			if (kept.length > 0) {
				from = kept[0]![0];
				to = kept[kept.length - 1]![1];
			} else to = from;
		}
		// The log gives a smaller width in use.
		const inUse = pieces.inUse_m[i]!;
		if (width > inUse) {
			const middle = (from + to) / 2;
			width = inUse;
			from = middle - width / 2;
			to = middle + width / 2;
		}
		new_m[i] = width;
		left_m[i] = from;
		right_m[i] = to;
	}
	return { new_m, left_m, right_m, tolerance_m };
}

/**
 * The overlap taken on one side of a piece, meters.
 *
 * @param piece - whose it is, as in `Sides`
 * @param none_m - taken where there is none
 */
function judged(
	overlap_m: number,
	piece: number,
	none_m: number,
	width_m: number,
	{ usual_m, tolerance_m }: { usual_m: number; tolerance_m: number },
): number {
	if (Number.isNaN(overlap_m)) return none_m;
	const seam_m = SEAM_SHARE * width_m;
	// Nobody overlaps a boundary on purpose, and boundaries are less exact than seams.
	if (piece === FENCE) return overlap_m > seam_m ? overlap_m : none_m;
	return Math.abs(overlap_m - usual_m) <= Math.min(tolerance_m, seam_m) ? usual_m : overlap_m;
}

/** Fills missing values along each pass, since only every second piece or so of the earlier pass is met. */
function fill(pieces: Pieces, values: Float64Array): Float64Array {
	const smooth = smoothAlong({ pieces, values });
	return values.map((v, i) => (Number.isNaN(v) ? smooth[i]! : v));
}

/** Where pieces are along their passes. */
type PassPlaces = Pick<Pieces, 'n' | 'pass' | 'way_m'>;

/** Running median of a column along each pass, over the stretch on both sides; NaN where most of it is NaN. */
export function smoothAlong({ pieces, values }: { pieces: PassPlaces; values: Float64Array }): Float64Array {
	// Outside passes (turns with the header down) every piece stands alone.
	const out = columnOf(values, (v, i) => (pieces.pass[i]! < 0 ? v : Number.NaN));
	for (const list of byPass(pieces)) {
		const m = list.length;
		let low = 0;
		let high = 0;
		// The window's values in order, kept up to date as its ends move.
		const sorted = new SortedWindow(m);
		let left = 0;
		let right = -1;
		for (let k = 0; k < m; k++) {
			const way = pieces.way_m[list[k]!]!;
			while (way - pieces.way_m[list[low]!]! > STRETCH_M) low++;
			while (high < m && pieces.way_m[list[high]!]! - way <= STRETCH_M) high++;
			// The same reach on both sides, or a slope would bias values at the ends of a pass.
			const reach = Math.max(3, Math.min(k - low, high - 1 - k));
			const from = Math.max(0, k - reach);
			const to = Math.min(m - 1, k + reach);
			while (right < to) sorted.add(values[list[++right]!]!);
			while (left > from) sorted.add(values[list[--left]!]!);
			while (right > to) sorted.remove(values[list[right--]!]!);
			while (left < from) sorted.remove(values[list[left++]!]!);
			const seen = to - from + 1;
			const enough = Number.isNaN(values[list[k]!]!) ? 2 : 4;
			if (sorted.length > 0 && sorted.length * enough >= seen) out[list[k]!] = sorted.median();
		}
	}
	return out;
}

/** Pieces of each pass in order; those outside any pass are left out (their own values stand alone). */
function byPass(pieces: PassPlaces): number[][] {
	const lists = new Map<number, number[]>();
	for (let i = 0; i < pieces.n; i++) {
		const pass = pieces.pass[i]!;
		if (pass < 0) continue;
		const list = lists.get(pass);
		if (list === undefined) lists.set(pass, [i]);
		else list.push(i);
	}
	return [...lists.values()];
}
