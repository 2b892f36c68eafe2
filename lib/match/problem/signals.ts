import type { Records } from '../../model/index.ts';
import { type Flowing, recordsUntil } from './mass.ts';

/** A run of the unloading auger, log time. */
export interface Run {
	start_s: number;
	end_s: number;
}

/** What a combine's log says of unloading beside its mass. */
export interface Signals {
	/** Runs of the auger in time order; null where the log has no such signal. */
	auger: Run[] | null;
	/** Share of the time that the combine stands. */
	standing: number;
}

/** Pauses in the signal shorter than this belong to one run, seconds. */
const PAUSE_S = 12;

export function signals(records: Records, f: Flowing): Signals {
	const hours = f.end_s - f.start_s;
	const stood = f.stood_s[f.time_s.length] as number;
	return {
		auger: augerRuns(records, f),
		standing: hours > 0 ? Math.min(0.6, Math.max(0.01, stood / hours)) : 0.3,
	};
}

function augerRuns(records: Records, f: Flowing): Run[] | null {
	const runs: Run[] = [];
	let known = 0;
	let run: Run | null = null;
	for (let k = 0; k < f.index.length; k++) {
		const on = records.augerOn[f.index[k] as number] as number;
		if (on !== -1) known++;
		if (on !== 1) continue;
		const a = f.from_s[k] as number;
		const b = f.time_s[k] as number;
		// A run does not reach across a silence of the log unless it is a short one.
		if (run && a - run.end_s <= PAUSE_S) run.end_s = b;
		else runs.push((run = { start_s: a, end_s: b }));
	}
	return known > 0.05 * f.index.length && runs.length > 0 ? runs : null;
}

/** Where the combine was at t: the record's track position, null outside the log or without one. */
export function placeAt(f: Flowing, x_m: Float64Array, y_m: Float64Array, t: number): { x: number; y: number } | null {
	if (f.time_s.length === 0) return null;
	const k = Math.min(f.time_s.length - 1, recordsUntil(f, t));
	const i = f.index[k] as number;
	const x = x_m[i] as number;
	const y = y_m[i] as number;
	return Number.isFinite(x) && Number.isFinite(y) ? { x, y } : null;
}
