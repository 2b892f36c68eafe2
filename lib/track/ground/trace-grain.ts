/** Which ground the grain of each record came from: the lag applied to the cut pieces of its combine. */

import { columnOf, firstFrom, hypotenuse } from '../../stats/index.ts';
import type { Pieces } from '../path/cut-pieces.ts';
import type { Path } from '../path/follow-path.ts';
import type { Ground } from './new-ground.ts';
import { type Wander, wanderAt } from './wander.ts';

/** Pieces of one combine's track. */
export interface OwnPieces {
	/** Piece numbers in order of time. */
	list: Int32Array;
	from_s: Float64Array;
	to_s: Float64Array;
}

/** The pieces of one combine. */
export function piecesOf(pieces: Pieces, combine: number): OwnPieces {
	const own: number[] = [];
	for (let i = 0; i < pieces.n; i++) if (pieces.combine[i] === combine) own.push(i);
	const column = (values: Float64Array) => columnOf(own, (i) => values[i]!);
	return { list: Int32Array.from(own), from_s: column(pieces.from_s), to_s: column(pieces.to_s) };
}

/** First piece that ends after a time, looked for around piece `near` of the list. */
function pieceAfter(t: OwnPieces, time_s: number, near: number): number {
	let q = near;
	while (q < t.list.length && !(t.to_s[q]! > time_s)) q++;
	while (q > 0 && t.to_s[q - 1]! > time_s) q--;
	return q;
}

/** The record whose interval holds the time: the first that ends at or after it; n where none. */
export const recordAt = (path: Path, time_s: number): number => firstFrom(path.end_s, time_s, 0, path.n);

/** As `recordAt`, looked for around record `near`: times that follow each other are near each other. */
function recordNear(path: Path, time_s: number, near: number): number {
	let k = near;
	while (k < path.n && !(path.end_s[k]! >= time_s)) k++;
	while (k > 0 && path.end_s[k - 1]! >= time_s) k--;
	return k;
}

/** Ground of every record's grain: columns in the path's order. */
export interface Grain {
	/** Middle of the window in which it was cut, UTC seconds. */
	cut_s: Float64Array;
	/** Middle of that ground on the swath's center line, UTM; NaN where the log has no such position. */
	x_m: Float64Array;
	y_m: Float64Array;
	ux: Float64Array;
	uy: Float64Array;
	/** Grid m². */
	area_m2: Float64Array;
	/** Distance with the header down within the window. */
	way_m: Float64Array;
	/** Share of the window's time with the header down and moving. */
	cutting: Float64Array;
	/** Header width there. */
	header_m: Float64Array;
	/** Middle and width of the strip newly cut, right positive. */
	strip_m: Float64Array;
	width_m: Float64Array;
	/** Piece at the middle of the window, −1 where the header was up. */
	piece: Int32Array;
	/** 1 where the position there was bad (jump, repeat, missing). */
	bad: Uint8Array;
	/** 8 per record. */
	corners_m: Float64Array;
}

/**
 * Finds the ground of each record's grain.
 *
 * @param input - `own`: the combine's pieces; `lag_s`: from cutter to sensor
 * @param shift - the receiver's constant offset (to the right of the machine, east, north), its wander, the cutter ahead
 */
export function traceGrain(
	input: { path: Path; pieces: Pieces; ground: Ground; own: OwnPieces; lag_s: number },
	shift: Shift,
): Grain {
	const { path, pieces, ground, own, lag_s } = input;
	const { n } = path;
	const nan = () => new Float64Array(n).fill(Number.NaN);
	const grain: Grain = {
		cut_s: new Float64Array(n),
		x_m: nan(),
		y_m: nan(),
		ux: nan(),
		uy: nan(),
		area_m2: new Float64Array(n),
		way_m: new Float64Array(n),
		cutting: new Float64Array(n),
		header_m: nan(),
		strip_m: new Float64Array(n),
		width_m: new Float64Array(n),
		piece: new Int32Array(n).fill(-1),
		bad: new Uint8Array(n),
		corners_m: new Float64Array(8 * n).fill(Number.NaN),
	};
	const place: Place = { x: 0, y: 0, ux: 0, uy: 0, bad: 0, near: 0 };
	const ends = { rear: { ...place }, front: { ...place } };
	let after = 0;
	for (let k = 0; k < n; k++) {
		const from = path.from_s[k]! - lag_s;
		const to = path.end_s[k]! - lag_s;
		const mid = (from + to) / 2;
		grain.cut_s[k] = mid;
		if (!placeIn(path, mid, place)) continue;
		cutterPlace(place, mid, shift);
		grain.x_m[k] = place.x;
		grain.y_m[k] = place.y;
		grain.ux[k] = place.ux;
		grain.uy[k] = place.uy;
		grain.bad[k] = place.bad;
		// Pieces within the window, each by its share of time.
		let first = Infinity;
		let last = -Infinity;
		let middle = 0;
		let header = 0;
		after = pieceAfter(own, from, after);
		for (let q = after; q < own.list.length && own.from_s[q]! < to; q++) {
			const i = own.list[q]!;
			const a = Math.max(from, own.from_s[q]!);
			const b = Math.min(to, own.to_s[q]!);
			const span = own.to_s[q]! - own.from_s[q]!;
			if (!(b > a) || !(span > 0)) continue;
			const share = ((b - a) / span) * pieces.length_m[i]!;
			grain.way_m[k]! += share;
			grain.cutting[k]! += (b - a) / (to - from);
			grain.area_m2[k]! += share * ground.new_m[i]!;
			middle += share * ground.new_m[i]! * ((ground.left_m[i]! + ground.right_m[i]!) / 2);
			header += share * pieces.width_m[i]!;
			first = Math.min(first, a);
			last = Math.max(last, b);
			if (a <= mid && mid <= b) grain.piece[k] = i;
		}
		if (!(grain.way_m[k]! > 0)) continue;
		grain.header_m[k] = header / grain.way_m[k]!;
		grain.width_m[k] = grain.area_m2[k]! / grain.way_m[k]!;
		grain.strip_m[k] = grain.area_m2[k]! > 0 ? middle / grain.area_m2[k]! : 0;
		if (!(grain.area_m2[k]! > 0)) continue;
		corners({ path, grain, shift, ...ends }, k, first, last);
	}
	return grain;
}

interface Place {
	x: number;
	y: number;
	ux: number;
	uy: number;
	bad: number;
	/** Where its record is looked for. */
	near: number;
}

export interface Shift {
	right_m: number;
	east_m: number;
	north_m: number;
	ahead_m: number;
	combine: number;
	wander: Wander;
}

/** Antenna and heading at a time, interpolated between two records; false where not possible. */
function placeIn(path: Path, time_s: number, out: Place): boolean {
	const k = recordNear(path, time_s, out.near);
	out.near = k;
	if (k >= path.n) return false;
	if (k === 0) {
		// Within the first record's own interval: extrapolate back along its heading.
		const back = path.end_s[0]! - time_s;
		if (time_s < path.from_s[0]! || !Number.isFinite(path.ux[0]!)) return false;
		const v = Number.isFinite(path.speed_m_s[0]!) ? path.speed_m_s[0]! : 0;
		out.x = path.x_m[0]! - path.ux[0]! * v * back;
		out.y = path.y_m[0]! - path.uy[0]! * v * back;
		out.ux = path.ux[0]!;
		out.uy = path.uy[0]!;
		out.bad = path.bad[0]!;
		return Number.isFinite(out.x);
	}
	const gap = path.end_s[k]! - path.end_s[k - 1]!;
	if (gap > 30) return false;
	const f = gap > 0 ? (time_s - path.end_s[k - 1]!) / gap : 1;
	out.x = path.x_m[k - 1]! + f * (path.x_m[k]! - path.x_m[k - 1]!);
	out.y = path.y_m[k - 1]! + f * (path.y_m[k]! - path.y_m[k - 1]!);
	const ux = path.ux[k - 1]! * (1 - f) + path.ux[k]! * f;
	const uy = path.uy[k - 1]! * (1 - f) + path.uy[k]! * f;
	const norm = hypotenuse(ux, uy);
	out.ux = norm > 0.1 ? ux / norm : path.ux[k]!;
	out.uy = norm > 0.1 ? uy / norm : path.uy[k]!;
	out.bad = path.bad[f < 0.5 ? k - 1 : k]!;
	return Number.isFinite(out.x) && Number.isFinite(out.ux);
}

const drift = new Float64Array(2);

/** Moves a place from the antenna to the cutter's middle and removes the receiver's offset and wander. */
function cutterPlace(place: Place, time_s: number, shift: Shift): void {
	wanderAt(shift.wander, shift.combine, time_s, drift);
	place.x += shift.ahead_m * place.ux - shift.right_m * place.uy - shift.east_m - drift[0]!;
	place.y += shift.ahead_m * place.uy + shift.right_m * place.ux - shift.north_m - drift[1]!;
}

/** Sets the corners of record k's ground, cut between two times. */
function corners(
	{ path, grain, shift, rear, front }: { path: Path; grain: Grain; shift: Shift; rear: Place; front: Place },
	k: number,
	first: number,
	last: number,
): void {
	if (!placeIn(path, first, rear) || !placeIn(path, last, front)) return;
	cutterPlace(rear, first, shift);
	cutterPlace(front, last, shift);
	const left = grain.strip_m[k]! - grain.width_m[k]! / 2;
	const right = grain.strip_m[k]! + grain.width_m[k]! / 2;
	const c = grain.corners_m;
	const put = (at: number, p: Place, side: number) => {
		c[8 * k + at] = p.x + side * p.uy;
		c[8 * k + at + 1] = p.y - side * p.ux;
	};
	put(0, rear, left);
	put(2, front, left);
	put(4, front, right);
	put(6, rear, right);
}
