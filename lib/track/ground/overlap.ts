/**
 * Where two passes overlap widely, the earlier one cut the strip, unless the grain shows otherwise: the clocks of
 * two monitors may differ, and a header may go along with one side lifted or empty. Without it, a field with such passes
 * has yields three times too high in some strips (test/sim, kind `dirty`: records off by 20 to 30 % in place of 5). If the earlier pass carried
 * too little grain for its width and the later one too much, the strip is the later one's.
 */

import { median } from '../../stats/median.ts';
import type { TimeGrid } from '../lag/time-grid.ts';
import type { Pieces } from '../path/pieces.ts';
import type { Sides } from './sides.ts';

/** Columns of length `pieces.n` by side of travel (0 left, 1 right). */
export interface Claims {
	/** 1 where the later pass keeps its overlap. */
	kept: [Uint8Array, Uint8Array];
	/** Width the earlier pass gives up on that side, meters; NaN = nothing. */
	lost_m: [Float64Array, Float64Array];
	/** Pairs of passes that changed hands. */
	pairs: number;
}

/** A strip narrower than this share of the header is left where it is. */
const WIDE_SHARE = 0.12;
/** By how much the grain must speak for the later pass, as a log ratio. */
const CLEARLY = 0.25;
/** And how well the strip must then fit both, as a log ratio. */
const FITS = 0.6;

/**
 * @param overlap_m - smoothed overlaps by side
 * @param new_m - new widths as the order of time has them
 * @param flows - flow on an even grid of time, one per combine
 * @param lag_s - by combine
 */
export function weighClaims(
	pieces: Pieces,
	sides: Sides,
	overlap_m: readonly [Float64Array, Float64Array],
	new_m: Float64Array,
	flows: (TimeGrid | null)[],
	lag_s: number[],
): Claims | null {
	interface Group {
		side: 0 | 1;
		pieces: number[];
		logs: number[];
		now: number[];
		turned: number[];
	}
	const groups = new Map<string, Group>();
	for (let i = 0; i < pieces.n; i++) {
		if (pieces.pass[i]! < 0) continue;
		for (const side of [0, 1] as const) {
			const j = sides.piece[side][i]!;
			const o = overlap_m[side][i]!;
			if (j < 0 || pieces.pass[j]! < 0 || !(o > WIDE_SHARE * pieces.width_m[i]!)) continue;
			if (o > 0.95 * new_m[j]!) continue;
			const mine = perMeter(pieces, i, flows, lag_s);
			const other = perMeter(pieces, j, flows, lag_s);
			if (!(mine > 0 && other > 0)) continue;
			const key = `${pieces.pass[i]}/${pieces.pass[j]}/${side}`;
			let g = groups.get(key);
			if (g === undefined) groups.set(key, (g = { side, pieces: [], logs: [], now: [], turned: [] }));
			g.pieces.push(i);
			g.logs.push(Math.log(other / mine));
			g.now.push(Math.log(new_m[j]! / Math.max(0.05 * pieces.width_m[i]!, new_m[i]!)));
			g.turned.push(Math.log((new_m[j]! - o) / (new_m[i]! + o)));
		}
	}
	const nan = () => new Float64Array(pieces.n).fill(Number.NaN);
	const claims: Claims = {
		kept: [new Uint8Array(pieces.n), new Uint8Array(pieces.n)],
		lost_m: [nan(), nan()],
		pairs: 0,
	};
	for (const g of groups.values()) {
		if (g.pieces.length < 12) continue;
		const found = median(g.logs);
		const now = Math.abs(found - median(g.now));
		const turned = Math.abs(found - median(g.turned));
		if (turned > now - CLEARLY || turned > FITS) continue;
		claims.pairs++;
		for (const i of g.pieces) {
			const j = sides.piece[g.side][i]!;
			const o = overlap_m[g.side][i]!;
			claims.kept[g.side][i] = 1;
			// On which side of the earlier pass does the later one lie?
			const across =
				(pieces.x_m[i]! - pieces.x_m[j]!) * pieces.uy[j]! - (pieces.y_m[i]! - pieces.y_m[j]!) * pieces.ux[j]!;
			claims.lost_m[across < 0 ? 0 : 1][j] = o;
		}
	}
	return claims.pairs > 0 ? claims : null;
}

/** Flow over speed of the grain cut in a piece, kg a meter. */
function perMeter(pieces: Pieces, i: number, flows: (TimeGrid | null)[], lag_s: number[]): number {
	const c = pieces.combine[i]!;
	const grid = flows[c];
	if (grid == null) return Number.NaN;
	const span = pieces.to_s[i]! - pieces.from_s[i]!;
	const t = (pieces.from_s[i]! + pieces.to_s[i]!) / 2 + lag_s[c]!;
	const g = Math.round(grid.place(t));
	const value = g >= 0 && g < grid.n ? grid.value[g]! : Number.NaN;
	return (value * span) / pieces.length_m[i]!;
}
