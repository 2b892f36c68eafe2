/**
 * Where two passes overlap widely, the strip is normally assigned to the earlier one. The flow may show otherwise: the
 * clocks of two monitors may differ, or a header may have run with one side lifted or empty. If the earlier pass had too
 * little grain for its width and the later one too much, the strip is reassigned to the later one. Without this, some
 * strips of such fields have yields three times too high (test/sim, kind `dirty`: records off by 20 to 30 %, not 5 %).
 */

import { median } from '../../stats/median.ts';
import { placeOn, type TimeGrid } from '../lag/time-grid.ts';
import type { Pieces } from '../path/cut-pieces.ts';
import type { Sides } from './find-sides.ts';

/** Columns of length `pieces.n` by side of travel (0 left, 1 right). */
export interface Reassigned {
	/** 1 where the later pass gets its overlap. */
	kept: [Uint8Array, Uint8Array];
	/** Width taken from the earlier pass on that side, meters; NaN = none. */
	lost_m: [Float64Array, Float64Array];
	/** Number of pairs of passes with a reassigned strip. */
	pairs: number;
}

/** Strips narrower than this share of the header are not reassigned. */
const WIDE_SHARE = 0.12;
/** How much better the reassigned widths must fit the flows, as a log ratio. */
const CLEARLY = 0.25;
/** Largest misfit left after reassignment, as a log ratio. */
const FITS = 0.6;

/**
 * Finds the overlaps to reassign from the flows of both passes; null where there are none.
 *
 * @param input - `overlap_m`: smoothed overlaps by side; `new_m`: new widths by order of time; `flows`: flow on a regular
 *   time grid, by combine; `lag_s`: by combine
 */
export function reassignOverlaps(input: {
	pieces: Pieces;
	sides: Sides;
	overlap_m: readonly [Float64Array, Float64Array];
	new_m: Float64Array;
	flows: (TimeGrid | null)[];
	lag_s: number[];
}): Reassigned | null {
	const { pieces, sides, overlap_m, new_m, flows, lag_s } = input;
	interface Group {
		side: 0 | 1;
		pieces: number[];
		logs: number[];
		now: number[];
		swapped: number[];
	}
	const passes = pieces.pass.reduce((most, p) => Math.max(most, p), 0) + 1;
	const levels = usualYields(pieces, new_m, flows, lag_s);
	const groups = new Map<number, Group>();
	for (let i = 0; i < pieces.n; i++) {
		if (pieces.pass[i]! < 0) continue;
		for (const side of [0, 1] as const) {
			const j = sides.piece[side][i]!;
			const o = overlap_m[side][i]!;
			if (j < 0 || pieces.pass[j]! < 0 || !(o > WIDE_SHARE * pieces.width_m[i]!)) continue;
			if (o > 0.95 * new_m[j]!) continue;
			// One monitor may read far from another, in pounds say.
			const mine = perMeter(pieces, i, flows, lag_s) / levels[pieces.combine[i]!]!;
			const other = perMeter(pieces, j, flows, lag_s) / levels[pieces.combine[j]!]!;
			if (!(mine > 0 && other > 0)) continue;
			const key = 2 * (pieces.pass[i]! * passes + pieces.pass[j]!) + side;
			let g = groups.get(key);
			if (g === undefined) groups.set(key, (g = { side, pieces: [], logs: [], now: [], swapped: [] }));
			g.pieces.push(i);
			g.logs.push(Math.log(other / mine));
			g.now.push(Math.log(new_m[j]! / Math.max(0.05 * pieces.width_m[i]!, new_m[i]!)));
			g.swapped.push(Math.log((new_m[j]! - o) / (new_m[i]! + o)));
		}
	}
	const nan = () => new Float64Array(pieces.n).fill(Number.NaN);
	const reassigned: Reassigned = {
		kept: [new Uint8Array(pieces.n), new Uint8Array(pieces.n)],
		lost_m: [nan(), nan()],
		pairs: 0,
	};
	for (const g of groups.values()) {
		if (g.pieces.length < 12) continue;
		const found = median(g.logs);
		const now = Math.abs(found - median(g.now));
		const swapped = Math.abs(found - median(g.swapped));
		if (swapped > now - CLEARLY || swapped > FITS) continue;
		reassigned.pairs++;
		for (const i of g.pieces) {
			const j = sides.piece[g.side][i]!;
			const o = overlap_m[g.side][i]!;
			reassigned.kept[g.side][i] = 1;
			// On which side of the earlier pass is the later one?
			const across =
				(pieces.x_m[i]! - pieces.x_m[j]!) * pieces.uy[j]! - (pieces.y_m[i]! - pieces.y_m[j]!) * pieces.ux[j]!;
			reassigned.lost_m[across < 0 ? 0 : 1][j] = o;
		}
	}
	return reassigned.pairs > 0 ? reassigned : null;
}

/** Most pieces that a usual yield is taken from: more add time, not information. */
const MOST = 20_000;

/** Usual yield of each combine's full-width pieces as its own monitor reads it, kg/m². */
function usualYields(pieces: Pieces, new_m: Float64Array, flows: (TimeGrid | null)[], lag_s: number[]): number[] {
	const every = Math.max(1, Math.floor(pieces.n / MOST));
	const seen = flows.map((): number[] => []);
	for (let i = 0; i < pieces.n; i += every) {
		if (pieces.pass[i]! < 0 || !(new_m[i]! > 0.9 * pieces.width_m[i]!)) continue;
		const yield_kg_m2 = perMeter(pieces, i, flows, lag_s) / new_m[i]!;
		if (yield_kg_m2 > 0) seen[pieces.combine[i]!]!.push(yield_kg_m2);
	}
	return seen.map(median);
}

/** Flow over speed of the grain cut in a piece, kg per meter. */
export function perMeter(pieces: Pieces, i: number, flows: (TimeGrid | null)[], lag_s: number[]): number {
	const c = pieces.combine[i]!;
	const grid = flows[c];
	if (grid == null) return Number.NaN;
	const span = pieces.to_s[i]! - pieces.from_s[i]!;
	const t = (pieces.from_s[i]! + pieces.to_s[i]!) / 2 + lag_s[c]!;
	const g = Math.round(placeOn(grid, t));
	const value = g >= 0 && g < grid.n ? grid.value[g]! : Number.NaN;
	return (value * span) / pieces.length_m[i]!;
}
