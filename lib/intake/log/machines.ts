import type { RawTable } from '../../formats/index.ts';
import { remembered } from '../../model/remembered.ts';
import { type Question, question } from '../model.ts';

/** Top speed of a combine, also on a road, m/s; and error of positions, meters. */
const FASTEST_M_S = 12;
const NOISE_M = 4;
/** A machine without a record for this long may be anywhere within reach, seconds. */
const IDLE_S = 60;

export interface Machines {
	/** Index of each row's machine, −1 for rows without a position or a time. */
	machine: Int32Array;
	count: number;
}

/** Share of rows that are back in time, or too far from the row before for a machine to have come from there. */
function jumpShare(time_s: Float64Array, x_m: Float64Array, y_m: Float64Array): number {
	let jumps = 0;
	let all = 0;
	for (let i = 1; i < time_s.length; i++) {
		const step = Math.hypot(x_m[i]! - x_m[i - 1]!, y_m[i]! - y_m[i - 1]!);
		const dt = time_s[i]! - time_s[i - 1]!;
		if (Number.isNaN(step) || Number.isNaN(dt)) continue;
		all++;
		if (dt < -1 || step > FASTEST_M_S * Math.max(0, dt) + NOISE_M + 2) jumps++;
	}
	return all === 0 ? 0 : jumps / all;
}

/**
 * Separates machines by motion: in order of time, each row goes to the machine whose last place and speed predict it;
 * a row out of reach of all belongs to a new one. Machines with very few rows are position errors, and their rows go
 * back to the machine recording at that time.
 */
function machinesByMotion(time_s: Float64Array, x_m: Float64Array, y_m: Float64Array): Machines {
	const n = time_s.length;
	const machine = new Int32Array(n).fill(-1);
	const order: number[] = [];
	for (let i = 0; i < n; i++) {
		if (!Number.isNaN(time_s[i]! + x_m[i]!)) order.push(i);
	}
	order.sort((a, b) => time_s[a]! - time_s[b]! || a - b);
	interface Track {
		t: number;
		x: number;
		y: number;
		vx: number;
		vy: number;
		rows: number;
	}
	const tracks: Track[] = [];
	for (const i of order) {
		const [t, x, y] = [time_s[i]!, x_m[i]!, y_m[i]!];
		let best = -1;
		let least = Infinity;
		for (let k = 0; k < tracks.length; k++) {
			const track = tracks[k]!;
			const dt = t - track.t;
			const way = Math.hypot(x - track.x, y - track.y);
			// One machine writes one row per moment, except where time stamps are rounded.
			if (way > FASTEST_M_S * dt + NOISE_M) continue;
			const ahead = Math.min(dt, 8);
			const off = Math.hypot(x - track.x - track.vx * ahead, y - track.y - track.vy * ahead);
			const cost = Math.min(off, way) + (dt > IDLE_S ? 20 : 0) + 0.02 * dt;
			if (cost < least) {
				least = cost;
				best = k;
			}
		}
		if (best < 0) {
			best = tracks.length;
			tracks.push({ t, x, y, vx: 0, vy: 0, rows: 0 });
		}
		const track = tracks[best]!;
		const dt = t - track.t;
		if (track.rows > 0 && dt > 0 && dt < IDLE_S) {
			track.vx = (x - track.x) / dt;
			track.vy = (y - track.y) / dt;
		} else track.vx = track.vy = 0;
		track.t = t;
		track.x = x;
		track.y = y;
		track.rows++;
		machine[i] = best;
	}
	return settled(
		machine,
		order,
		tracks.map((t) => t.rows),
	);
}

/** Numbers machines by their first row, and gives those with too few rows to the machine of the row before. */
function settled(machine: Int32Array, order: readonly number[], rows: readonly number[]): Machines {
	const least = Math.max(10, 0.02 * order.length);
	const number = new Map<number, number>();
	let last = -1;
	for (const i of order) {
		const m = machine[i]!;
		if (rows[m]! < least) continue;
		if (!number.has(m)) number.set(m, number.size);
	}
	if (number.size === 0) {
		for (const i of order) machine[i] = 0;
		return { machine, count: 1 };
	}
	for (const i of order) {
		last = number.get(machine[i]!) ?? Math.max(0, last);
		machine[i] = last;
	}
	return { machine, count: number.size };
}

export interface MachineRows {
	table: RawTable;
	/** Name of each row's machine or run, if a column gives it. */
	group: readonly string[] | null;
	time_s: Float64Array;
	x_m: Float64Array;
	y_m: Float64Array;
	/** True for the first row of each group of sections. */
	leads: (i: number) => boolean;
	/** Rows in their machine's order if it is known and differs from the file's. */
	order: Int32Array | null;
}

/** Rows with their machines. */
export interface Separated {
	/** Index of each row's machine, −1 for none. */
	machine: Int32Array;
	/** Each row's machine by name; null if there is one without a name. */
	combine: string[] | null;
	/** Rows in their machine's order; null: the file's. */
	order: Int32Array | null;
	notes: string[];
	questions: Question[];
}

/** The machine of each row: by a column, by runs that a column separates, or by motion. */
export function separateMachines({ table, group, time_s, x_m, y_m, leads, order }: MachineRows): Separated {
	const n = time_s.length;
	const machine = new Int32Array(n).fill(-1);
	const out: Separated = { machine, combine: null, order: order ?? inTime(time_s), notes: [], questions: [] };
	if (group !== null) {
		const number = new Map<string, number>();
		for (let i = 0; i < n; i++) {
			const name = group[i]!;
			const m = remembered(number, name, () => number.size);
			if (leads(i)) machine[i] = m;
		}
		return { ...out, combine: [...group] };
	}
	const rows = Int32Array.from({ length: n }, (_, i) => i).filter(leads);
	const pick = (v: Float64Array) => Float64Array.from(rows, (i) => v[i]!);
	const [t, x, y] = [pick(time_s), pick(x_m), pick(y_m)];
	const jumps = jumpShare(t, x, y);
	// A row out of place now and then is a receiver error, or the file covers several days.
	if (jumps > 0.02 || backwards(t)) {
		const byMotion = machinesByMotion(t, x, y);
		if (byMotion.count > 1) {
			rows.forEach((i, k) => {
				machine[i] = byMotion.machine[k]!;
			});
			const letters = (m: number) => (byMotion.count <= 26 ? String.fromCharCode(65 + m) : String(m + 1));
			const combine = Array.from({ length: n }, (_, i) => letters(Math.max(0, machine[i]!)));
			out.notes.push(
				`${byMotion.count} machines in one file without a column that distinguishes them: they are separated by their motion`,
			);
			out.questions.push(
				question(table.file, {
					about: 'combine',
					text: `${table.file} holds ${byMotion.count} machines, separated by their motion and called ${[...new Set(combine)].join(', ')}. What are their names, in that order?`,
					taken: [...new Set(combine)].join(', '),
				}),
			);
			return { ...out, combine, order: inTime(time_s) };
		}
	}
	for (const i of rows) machine[i] = 0;
	return out;
}

/** Rows in order of time, equal times in the file's order; null if they are already sorted, or have no times. */
function inTime(time_s: Float64Array): Int32Array | null {
	let sorted = true;
	for (let i = 1; i < time_s.length && sorted; i++) sorted = !(time_s[i]! < time_s[i - 1]!);
	if (sorted || time_s.some(Number.isNaN)) return null;
	return Int32Array.from({ length: time_s.length }, (_, i) => i).sort((a, b) => time_s[a]! - time_s[b]!);
}

/** Time goes back by minutes somewhere: a second log follows in the same file. */
function backwards(t: Float64Array): boolean {
	let top = -Infinity;
	for (const one of t) {
		if (one < top - 300) return true;
		if (one > top) top = one;
	}
	return false;
}
