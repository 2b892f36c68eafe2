/** Ground covered by the headers in pieces of about two meters, whether newly cut or not. */
import { type Each, inTurn } from '../../model/index.ts';
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

/** Cuts the tracks of all combines into pieces, one part of the work per combine. */
export function cutPieces(headers: readonly HeaderPath[], each: Each = inTurn): { pieces: Pieces; runs: PassRun[] } {
	const paths = each(piecesOfPath, headers);
	const places = placesInTime(paths.map(({ pieces }) => pieces.to_s));
	const n = paths.reduce((sum, { pieces }) => sum + pieces.n, 0);
	const column = (name: Exclude<keyof Pieces, 'n'>, out: Float64Array | Int32Array | Uint8Array) => {
		paths.forEach(({ pieces }, p) => {
			const values = pieces[name];
			const at = places[p]!;
			for (let k = 0; k < at.length; k++) out[at[k]!] = values[k]!;
		});
		return out;
	};
	const numbers = (name: Exclude<keyof Pieces, 'n'>) => column(name, new Float64Array(n)) as Float64Array;
	const runs: PassRun[] = [];
	for (const path of paths) {
		const { pass } = path.pieces;
		// Numbered over all combines.
		for (let k = 0; k < pass.length; k++) if (pass[k]! >= 0) pass[k]! += runs.length;
		runs.push(...path.runs);
	}
	return {
		pieces: {
			n,
			combine: column('combine', new Uint8Array(n)) as Uint8Array,
			pass: column('pass', new Int32Array(n)) as Int32Array,
			from_s: numbers('from_s'),
			to_s: numbers('to_s'),
			x_m: numbers('x_m'),
			y_m: numbers('y_m'),
			ux: numbers('ux'),
			uy: numbers('uy'),
			length_m: numbers('length_m'),
			width_m: numbers('width_m'),
			inUse_m: numbers('inUse_m'),
			way_m: numbers('way_m'),
		},
		runs,
	};
}

/** Places of each combine's pieces in the order of time over all; equal times keep the order of combines. */
function placesInTime(ends_s: readonly Float64Array[]): Int32Array[] {
	const places = ends_s.map((own) => new Int32Array(own.length));
	const next = ends_s.map(() => 0);
	const n = ends_s.reduce((sum, own) => sum + own.length, 0);
	for (let k = 0; k < n; k++) {
		let best = -1;
		let first_s = Infinity;
		for (let c = 0; c < ends_s.length; c++) {
			// Past its end there is none, and nothing is less than that.
			const end_s = ends_s[c]![next[c]!]!;
			if (end_s < first_s) [best, first_s] = [c, end_s];
		}
		places[best]![next[best]!++] = k;
	}
	return places;
}

/** Columns of pieces that grow. */
class Growing {
	n = 0;
	columns: Omit<Pieces, 'n'>;

	constructor(room: number) {
		this.columns = emptyColumns(room);
	}

	/** Makes room for one more, and returns its number. */
	add(): number {
		if (this.n === this.columns.pass.length) {
			const wider = emptyColumns(2 * this.n);
			for (const [name, values] of Object.entries(this.columns)) wider[name as keyof typeof wider].set(values);
			this.columns = wider;
		}
		return this.n++;
	}

	done(): Pieces {
		const ended = Object.entries(this.columns).map(([name, values]) => [name, values.subarray(0, this.n)]);
		return { n: this.n, ...(Object.fromEntries(ended) as Omit<Pieces, 'n'>) };
	}
}

function emptyColumns(room: number): Omit<Pieces, 'n'> {
	const numbers = () => new Float64Array(room);
	return {
		combine: new Uint8Array(room),
		pass: new Int32Array(room),
		from_s: numbers(),
		to_s: numbers(),
		x_m: numbers(),
		y_m: numbers(),
		ux: numbers(),
		uy: numbers(),
		length_m: numbers(),
		width_m: numbers(),
		inUse_m: numbers(),
		way_m: numbers(),
	};
}

/** One combine's pieces, and its runs with numbers of their own. */
export function piecesOfPath({ path, down, width_m, inUse_m, ahead_m }: HeaderPath): {
	pieces: Pieces;
	runs: PassRun[];
} {
	const out = new Growing(path.n + 1000);
	const runs: PassRun[] = [];
	const { n, start_s, end_s, x_m, y_m, ux, uy } = path;
	const starts = startPlaces(path);
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
		const x0 = starts.x_m[a]!;
		const y0 = starts.y_m[a]!;
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
			const i = out.add();
			const { columns } = out;
			columns.combine[i] = path.combine;
			columns.pass[i] = run;
			columns.from_s[i] = t0 + ((t1 - t0) * q) / parts;
			columns.to_s[i] = t0 + ((t1 - t0) * (q + 1)) / parts;
			columns.x_m[i] = x0 + f * (x1 - x0) + hx * ahead_m;
			columns.y_m[i] = y0 + f * (y1 - y0) + hy * ahead_m;
			columns.ux[i] = hx;
			columns.uy[i] = hy;
			columns.length_m[i] = along;
			columns.width_m[i] = width_m;
			columns.inUse_m[i] = inUse_m[b]!;
			columns.way_m[i] = first + f * measured;
		}
		way += measured;
	}
	for (let k = 0; k < n; k++) {
		const previous = k > 0 ? k - 1 : 0;
		const joined = k > 0 && start_s[k]! - end_s[k - 1]! < Math.max(0.5, 0.5 * path.step_s);
		const moved = hypotenuse(x_m[k]! - starts.x_m[k]!, y_m[k]! - starts.y_m[k]!);
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
	return { pieces: out.done(), runs };
}

/** Antenna at the start of each record's travel, by interpolation. */
function startPlaces({ n, start_s, end_s, x_m, y_m, step_s }: Path): { x_m: Float64Array; y_m: Float64Array } {
	const places = { x_m: x_m.slice(), y_m: y_m.slice() };
	for (let k = 0; k < n; k++) {
		const t = start_s[k]!;
		const between = (a: number, b: number) => {
			const span = end_s[b]! - end_s[a]!;
			const f = span > 0 ? (t - end_s[a]!) / span : 1;
			places.x_m[k] = x_m[a]! + f * (x_m[b]! - x_m[a]!);
			places.y_m[k] = y_m[a]! + f * (y_m[b]! - y_m[a]!);
		};
		// After a long gap in the log, the start is extrapolated from the record's own speed.
		const near = k > 0 && end_s[k]! - end_s[k - 1]! <= 2.5 * Math.max(step_s, end_s[k]! - t);
		if (near && Number.isFinite(x_m[k - 1]! + x_m[k]!)) between(k - 1, k);
		else if (k + 1 < n && end_s[k + 1]! > end_s[k]!) between(k, k + 1);
	}
	return places;
}
