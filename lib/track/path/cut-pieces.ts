/** Ground covered by the headers in pieces of about two meters, whether newly cut or not. */
import { hypotenuse } from '../../stats/index.ts';
import type { Path } from './follow-path.ts';

/** Pieces of every combine in order of time: columns of length `n`. */
export interface Pieces {
	n: number;
	combine: Uint8Array;
	/** Run with the header down and a steady heading (number over all combines), −1 in a turn. */
	pass: Int32Array;
	from_s: Float64Array;
	to_s: Float64Array;
	/** Middle of the cutter, UTM. */
	x_m: Float64Array;
	y_m: Float64Array;
	ux: Float64Array;
	uy: Float64Array;
	length_m: Float64Array;
	/** Header width. */
	width_m: Float64Array;
	/** Width in use by the log where smaller, else Infinity. */
	inUse_m: Float64Array;
	/** Distance of this combine since the start, at the piece's middle. */
	way_m: Float64Array;
}

export interface PassRun {
	combine: number;
	start_s: number;
	end_s: number;
}

/** Target length of a piece, meters. */
const STEP_M = 2;
/** A longer step between records is not taken as cut, since the track between them is unknown, meters. */
const LONGEST_M = 300;
/** A heading that changes faster than this is a turn, radians per meter. */
const TURN_RAD_M = 0.1;

/** One combine's track and header. */
export interface HeaderPath {
	path: Path;
	/** 1 where the header was down, in the path's order. */
	down: Uint8Array;
	width_m: number;
	/** Width in use by record, in the path's order. */
	inUse_m: Float64Array;
	/** From the antenna forward to the cutter. */
	ahead_m: number;
}

/** Cuts the tracks of all combines into pieces. */
export function cutPieces(headers: readonly HeaderPath[]): { pieces: Pieces; runs: PassRun[] } {
	const found = new Growing(
		COLUMNS,
		headers.reduce((n, h) => n + h.path.n, 1000),
	);
	const runs: PassRun[] = [];
	for (const header of headers) pathPieces(header, runs, found);
	const { n, columns } = found;
	const ends = columns[2]!;
	// In order of time over all combines (each is in order already); equal times keep the order of combines.
	const order = mergeRuns(columns[0]!, ends, n, headers.length);
	const column = (c: number) => {
		const values = columns[c]!;
		const out = new Float64Array(n);
		for (let i = 0; i < n; i++) out[i] = values[order[i]!]!;
		return out;
	};
	return {
		pieces: {
			n,
			combine: new Uint8Array(column(0)),
			pass: new Int32Array(column(10)),
			from_s: column(1),
			to_s: column(2),
			x_m: column(3),
			y_m: column(4),
			ux: column(5),
			uy: column(6),
			length_m: column(7),
			width_m: column(8),
			way_m: column(9),
			inUse_m: column(11),
		},
		runs,
	};
}

/** combine, from, to, x, y, ux, uy, length, width, way, pass, width in use. */
const COLUMNS = 12;

/** Columns that grow. */
class Growing {
	n = 0;
	columns: Float64Array[];

	constructor(count: number, room: number) {
		this.columns = Array.from({ length: count }, () => new Float64Array(room));
	}

	push(...row: number[]): void {
		if (this.n === this.columns[0]!.length) {
			this.columns = this.columns.map((old) => {
				const wider = new Float64Array(2 * old.length);
				wider.set(old);
				return wider;
			});
		}
		for (let c = 0; c < row.length; c++) this.columns[c]![this.n] = row[c]!;
		this.n++;
	}
}

/** Order of all pieces by `key`, from one run of pieces per combine, each already in order. */
function mergeRuns(combine: Float64Array, key: Float64Array, n: number, combines: number): Int32Array {
	const next = new Int32Array(combines).fill(-1);
	const last = new Int32Array(combines).fill(-1);
	for (let i = 0; i < n; i++) {
		const c = combine[i]!;
		if (next[c]! < 0) next[c] = i;
		last[c] = i;
	}
	const order = new Int32Array(n);
	for (let k = 0; k < n; k++) {
		let best = -1;
		for (let c = 0; c < combines; c++) {
			const i = next[c]!;
			if (i < 0 || i > last[c]!) continue;
			if (best < 0 || key[i]! < key[next[best]!]!) best = c;
		}
		order[k] = next[best]!++;
	}
	return order;
}

function pathPieces({ path, down, width_m, inUse_m, ahead_m }: HeaderPath, runs: PassRun[], out: Growing): void {
	const { n, start_s, end_s, x_m, y_m, ux, uy } = path;
	let way = 0;
	let run = -1;
	let since = -1;
	let length = 0;
	const close = (k: number) => {
		if (since < 0) return;
		emit(since, k, length);
		since = -1;
		length = 0;
	};
	function emit(a: number, b: number, measured: number) {
		// From the start of record a to the end of record b.
		const t0 = start_s[a]!;
		const t1 = end_s[b]!;
		const [x0, y0] = placeAt(path, a, t0);
		const x1 = x_m[b]!;
		const y1 = y_m[b]!;
		const parts = Math.max(1, Math.round(measured / STEP_M - 0.25));
		const first = way;
		const before = a > 0 && end_s[a - 1]! >= t0 - 1e-6 && Number.isFinite(ux[a - 1]!) ? a - 1 : a;
		for (let q = 0; q < parts; q++) {
			const f = (q + 0.5) / parts;
			let hx = ux[before]! * (1 - f) + ux[b]! * f;
			let hy = uy[before]! * (1 - f) + uy[b]! * f;
			const norm = hypotenuse(hx, hy);
			if (!(norm > 0.1)) continue;
			hx /= norm;
			hy /= norm;
			// Distance along the heading, so that sideways jitter of the receiver does not count.
			const along = ((x1 - x0) * hx + (y1 - y0) * hy) / parts;
			if (!(along > 0)) continue;
			const x = x0 + f * (x1 - x0) + hx * ahead_m;
			const y = y0 + f * (y1 - y0) + hy * ahead_m;
			const from = t0 + ((t1 - t0) * q) / parts;
			const to = t0 + ((t1 - t0) * (q + 1)) / parts;
			out.push(path.combine, from, to, x, y, hx, hy, along, width_m, first + f * measured, run, inUse_m[b]!);
		}
		way += measured;
	}
	for (let k = 0; k < n; k++) {
		const previous = k > 0 ? k - 1 : 0;
		const joined = k > 0 && start_s[k]! - end_s[k - 1]! < Math.max(0.5, 0.5 * path.step_s);
		const [x0, y0] = placeAt(path, k, start_s[k]!);
		const moved = hypotenuse(x_m[k]! - x0, y_m[k]! - y0);
		if (!(moved <= LONGEST_M) || !down[k]) {
			close(previous);
			if (moved <= LONGEST_M) way += moved;
			run = -1;
			continue;
		}
		if (!joined) close(previous);
		// A gap up to 20 s with the header down on both sides does not end the pass.
		const gone = k > 0 && start_s[k]! - end_s[k - 1]! > 20;
		const turning = Math.abs(path.turnRate_rad_m[k]!) > TURN_RAD_M;
		if (turning || gone) {
			close(previous);
			run = -1;
		}
		if (!turning && run < 0) {
			close(previous);
			run = runs.length;
			runs.push({ combine: path.combine, start_s: start_s[k]!, end_s: end_s[k]! });
		}
		if (run >= 0) runs[run]!.end_s = end_s[k]!;
		if (since < 0) since = k;
		length += moved;
		if (length >= 0.75 * STEP_M) close(k);
	}
	close(n - 1);
}

/** Antenna at a time not after record k's end and not before the end of the record before it, by interpolation. */
function placeAt(path: Path, k: number, t: number): [number, number] {
	const { end_s, x_m, y_m } = path;
	const at = (a: number, b: number): [number, number] => {
		const span = end_s[b]! - end_s[a]!;
		const f = span > 0 ? (t - end_s[a]!) / span : 1;
		return [x_m[a]! + f * (x_m[b]! - x_m[a]!), y_m[a]! + f * (y_m[b]! - y_m[a]!)];
	};
	// After a long gap in the log, the start of the interval is extrapolated from the record's own speed.
	if (k > 0 && end_s[k]! - end_s[k - 1]! <= 2.5 * Math.max(path.step_s, end_s[k]! - path.start_s[k]!)) {
		const [x, y] = at(k - 1, k);
		if (Number.isFinite(x)) return [x, y];
	}
	if (k + 1 < path.n && end_s[k + 1]! > end_s[k]!) return at(k, k + 1);
	return [x_m[k]!, y_m[k]!];
}
