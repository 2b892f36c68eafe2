/**
 * Header widths against how far apart passes lie. A header set a row too wide makes neighboring passes overlap by a row
 * everywhere, so ground is counted that another pass cut, and its yields read low by that share.
 */
import { median } from '../../stats/index.ts';
import type { Pieces } from '../path/cut-pieces.ts';
import type { Machine } from '../path/machine.ts';
import type { Sides } from './find-sides.ts';
import type { Receivers } from './receivers.ts';

/** One combine's header width by the spacing of passes. */
export interface SetWidth {
	/** Taken off the width as set, meters; 0 = none, negative = the header is wider than set. */
	excess_m: number;
	/** Standard uncertainty of the width that is left where spacing does not tell whose header it is, else 0. */
	u_m: number;
	/** Rows more than it takes; NaN where it takes no rows, or not a whole number of them. */
	rows: number;
}

/** Overlap up to this is how people drive, where rows do not lead them, meters. */
const DRIVEN_M = 0.5;
/** Excesses known less well than this are known in sum with a neighbor's, meters. */
const APART_M = 0.1;
/** A whole number of rows is meant within this share of a row. */
const ROW_SHARE = 0.3;
/** Standard deviation, over its mean, of what lies evenly between nothing and twice as much. */
const EVENLY = 1 / Math.sqrt(3);

/** By combine: the excess that the seams show beyond doubt. */
export function setWidths(machines: readonly Machine[], receivers: Receivers): SetWidth[] {
	return machines.map(({ row_m }, c): SetWidth => {
		const found_m = receivers.excess_m[c]!;
		const sure_m = receivers.excess_u_m[c]!;
		const rows = Math.round(found_m / row_m);
		const whole = Math.abs(found_m - rows * row_m) < ROW_SHARE * row_m && sure_m < row_m / 4;
		if (whole) return { excess_m: rows * row_m, u_m: 0, rows };
		const chance_m = (2 * receivers.spread_m) / Math.sqrt(Math.max(1, receivers.seams));
		const told = Math.abs(found_m) > Math.max(row_m > 0 ? ROW_SHARE * row_m : DRIVEN_M / 2, chance_m);
		// Where two combines meet only each other their excesses' sum is known, and none of them is below zero. Part of a row
		// is no header's: it is a share of a neighbor's row. Where rows do not lead, people overlap a little.
		const shared = sure_m > APART_M || row_m > 0;
		const driven = !(row_m > 0) && Math.abs(found_m) < DRIVEN_M;
		const u_m = EVENLY * (shared ? Math.abs(found_m) : driven ? 0 : DRIVEN_M / 2);
		return { excess_m: told && !driven ? found_m : 0, u_m: told ? u_m : 0, rows: told ? Number.NaN : 0 };
	});
}

/** The same pieces as cut by headers of the width that they have. */
export function narrowed(pieces: Pieces, widths: readonly SetWidth[]): Pieces {
	return { ...pieces, width_m: pieces.width_m.map((w, i) => w - widths[pieces.combine[i]!]!.excess_m) };
}

/** A width in use that the log gives, though the passes cut with it lie a whole header apart. */
export interface Refuted {
	combine: number;
	inUse_m: number;
}

/** Fewest pieces beside a neighbor that refute a width, about a kilometer: a pass along the field's edge is no proof. */
const LEAST_PIECES = 500;

/**
 * Widths in use that spacing refutes: where part of a header cuts, the rest of it runs over the ground of a neighbor, or
 * neighbors lie closer.
 */
export function refutedInUse(pieces: Pieces, sides: Sides): Refuted[] {
	const seen = new Map<string, Refuted & { overlaps: number[]; missing_m: number }>();
	for (let i = 0; i < pieces.n; i++) {
		const inUse_m = pieces.inUse_m[i]!;
		if (!(inUse_m < pieces.width_m[i]!) || pieces.pass[i]! < 0) continue;
		const [left, right] = [sides.overlap_m[0][i]!, sides.overlap_m[1][i]!];
		if (Number.isNaN(left) && Number.isNaN(right)) continue;
		const combine = pieces.combine[i]!;
		const key = `${combine} ${inUse_m.toFixed(2)}`;
		let one = seen.get(key);
		if (one === undefined)
			seen.set(key, (one = { combine, inUse_m, overlaps: [], missing_m: pieces.width_m[i]! - inUse_m }));
		one.overlaps.push((left || 0) + (right || 0));
	}
	return [...seen.values()]
		.filter((s) => s.overlaps.length >= LEAST_PIECES && median(s.overlaps) < ROW_SHARE * s.missing_m)
		.map(({ combine, inUse_m }) => ({ combine, inUse_m }));
}

/** The same pieces without the widths in use that are refuted. */
export function fullWidth(pieces: Pieces, refuted: readonly Refuted[]): Pieces {
	const wrong = (i: number) =>
		refuted.some((r) => r.combine === pieces.combine[i] && Math.abs(r.inUse_m - pieces.inUse_m[i]!) < 0.01);
	return { ...pieces, inUse_m: pieces.inUse_m.map((w, i) => (wrong(i) ? Infinity : w)) };
}
