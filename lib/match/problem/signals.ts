import type { Records } from '../../model/index.ts';
import type { Flowing } from './mass.ts';

/** A run of the unloading auger, log time. */
export interface Run {
	start_s: number;
	end_s: number;
}

/** Evidence of unloading in a combine's log, mass aside. */
export interface Signals {
	/** Runs of the auger in time order; null where the log has no such signal. */
	auger: Run[] | null;
	/** Share of the time that the combine is stopped. */
	standing: number;
}

/** A shorter pause in the signal does not end a run, seconds. */
const PAUSE_S = 12;

/** Finds the auger's runs and the share of time stopped. */
export function signals(records: Records, f: Flowing): Signals {
	const span_s = f.end_s - f.start_s;
	const stood = f.stood_s[f.time_s.length]!;
	return {
		auger: augerRuns(records, f),
		standing: span_s > 0 ? Math.min(0.6, Math.max(0.01, stood / span_s)) : 0.3,
	};
}

function augerRuns(records: Records, f: Flowing): Run[] | null {
	const runs: Run[] = [];
	let known = 0;
	let run: Run | null = null;
	for (let k = 0; k < f.index.length; k++) {
		const on = records.augerOn[f.index[k]!]!;
		if (on !== -1) known++;
		if (on !== 1) continue;
		const a = f.from_s[k]!;
		const b = f.time_s[k]!;
		// A longer gap in the log ends a run.
		if (run && a - run.end_s <= PAUSE_S) run.end_s = b;
		else runs.push((run = { start_s: a, end_s: b }));
	}
	return known > 0.05 * f.index.length && runs.length > 0 ? runs : null;
}
