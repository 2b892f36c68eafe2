/** One combine's flow and cut area on a regular time grid, from which the lag is estimated. */

import type { Pieces } from '../path/cut-pieces.ts';
import type { Path } from '../path/follow-path.ts';
import { type Worktime, worked_s, worktimeOf } from '../path/worktime.ts';

/** Longer gaps in the log are left out of the grid, since no lag, smear or edge extends over them, seconds. */
export const SILENCE_S = 600;

/** Slower than this a machine stands: what changes there changes in time, not along the ground. */
const MOVING_M_S = 0.4;

export interface TimeGrid {
	step_s: number;
	n: number;
	worktime: Worktime;
	/** The sensor's value at each time; NaN in gaps of the log. */
	value: Float64Array;
	/** Area newly cut per second, m²/s; 0 where none. */
	rate: Float64Array;
	/** Pass cut in, −1 none. */
	pass: Int32Array;
	/** 1 where the header was down and moving, over new ground or not. */
	over: Uint8Array;
	/** The records themselves, in order of time: intervals in steps of the grid, and values. */
	from: Float64Array;
	to: Float64Array;
	own: Float64Array;
}

/**
 * @param value - by record of the path; it stands at the middle of the record's interval
 * @param new_m - new width of every piece
 */
export function timeGridOf(path: Path, value: Float64Array, pieces: Pieces, new_m: Float64Array): TimeGrid {
	const step_s = Math.min(1, Math.max(0.5, path.step_s));
	const worktime = worktimeOf(path.start_s, path.end_s, SILENCE_S);
	const place = (time_s: number) => worked_s(worktime, time_s) / step_s;
	const n = Math.max(2, Math.min(20_000_000, Math.ceil(place(path.end_s[path.n - 1]!)) + 1));
	const grid: TimeGrid = {
		step_s,
		n,
		worktime,
		value: valuesAt({ step_s, n, worktime }, path, value),
		rate: new Float64Array(n),
		pass: new Int32Array(n).fill(-1),
		over: new Uint8Array(n),
		from: path.start_s.map(place),
		to: path.end_s.map(place),
		own: value,
	};
	for (let i = 0; i < pieces.n; i++) {
		if (pieces.combine[i] !== path.combine) continue;
		const span = pieces.to_s[i]! - pieces.from_s[i]!;
		if (!(span > 0)) continue;
		const rate = (new_m[i]! * pieces.length_m[i]!) / span;
		const from = place(pieces.from_s[i]!);
		const to = place(pieces.to_s[i]!);
		// Each step gets its share of the piece, so that edges between steps keep their position.
		for (let g = Math.max(0, Math.floor(from)); g < Math.min(n, Math.ceil(to)); g++) {
			grid.rate[g]! += rate * (Math.min(to, g + 1) - Math.max(from, g));
			if (g + 0.5 < from || g + 0.5 >= to) continue;
			if (pieces.length_m[i]! > MOVING_M_S * span) grid.over[g] = 1;
			grid.pass[g] = pieces.pass[i]!;
		}
	}
	// A machine that stops for a while within a pass is still in it.
	let before = -1;
	for (let g = 0; g < n; g++) {
		if (grid.pass[g]! < 0) continue;
		if (before >= 0 && grid.pass[before] === grid.pass[g]) grid.pass.fill(grid.pass[g]!, before + 1, g);
		before = g;
	}
	return grid;
}

/** The same grid with another value of the same records. */
export const otherValue = (grid: TimeGrid, path: Path, value: Float64Array): TimeGrid => ({
	...grid,
	value: valuesAt(grid, path, value),
	own: value,
});

/** Values at each step, linear between the middles of records; NaN in gaps of the log. */
function valuesAt(grid: Pick<TimeGrid, 'step_s' | 'n' | 'worktime'>, path: Path, value: Float64Array): Float64Array {
	const { n } = grid;
	const out = new Float64Array(n).fill(Number.NaN);
	let last = -1;
	for (let k = 0; k < path.n; k++) {
		if (!Number.isFinite(value[k]!)) continue;
		const at = (path.start_s[k]! + path.end_s[k]!) / 2;
		if (last >= 0) {
			const before = (path.start_s[last]! + path.end_s[last]!) / 2;
			if (at - before < 3 * Math.max(path.step_s, 1)) {
				const a = placeOn(grid, before);
				const b = placeOn(grid, at);
				const to = Math.min(n - 1, Math.floor(b));
				for (let g = Math.max(0, Math.ceil(a)); g <= to; g++) {
					const f = b > a ? (g - a) / (b - a) : 1;
					out[g] = value[last]! + f * (value[k]! - value[last]!);
				}
			}
		}
		last = k;
	}
	return out;
}

/** Position of a time on the grid, in steps. */
export const placeOn = ({ worktime, step_s }: Pick<TimeGrid, 'worktime' | 'step_s'>, time_s: number): number =>
	worked_s(worktime, time_s) / step_s;

/** The value after a first-order smear backward in time. */
export function smearBack(value: Float64Array, step_s: number, smear_s: number): Float64Array {
	const out = value.slice();
	if (!(smear_s > 0)) return out;
	const keep = keptShare(step_s, smear_s);
	for (let g = out.length - 2; g >= 0; g--) {
		const next = out[g + 1]!;
		if (!Number.isNaN(next) && !Number.isNaN(out[g]!)) out[g] = keep * next + (1 - keep) * out[g]!;
	}
	return out;
}

/** The value after a first-order smear. */
export function smearOn(value: Float64Array, step_s: number, smear_s: number): Float64Array {
	const out = value.slice();
	if (!(smear_s > 0)) return out;
	const keep = keptShare(step_s, smear_s);
	for (let g = 1; g < out.length; g++) out[g] = keep * out[g - 1]! + (1 - keep) * out[g]!;
	return out;
}

/** Running sums of values by step, from 0. */
export function runningSums(values: Float64Array): Float64Array {
	const sums = new Float64Array(values.length + 1);
	for (let g = 0; g < values.length; g++) sums[g + 1] = sums[g]! + values[g]!;
	return sums;
}

/** Running sum at a place between steps. */
export function sumTo(sums: Float64Array, at: number): number {
	const low = Math.floor(at);
	return sums[low]! + (at - low) * (sums[low + 1]! - sums[low]!);
}

/** Share kept from one step to the next so that the mean delay on the grid equals the smear's time constant. */
function keptShare(step_s: number, smear_s: number): number {
	return smear_s / (smear_s + step_s);
}
