import type { Records } from '../../model/index.ts';
import { firstAbove } from '../../stats/index.ts';
import { type Flowing, flowAround, massAt } from './mass.ts';

/** A run of the unloading auger, log time, with the mass at its end. */
export interface Run {
	start_s: number;
	end_s: number;
	endMass_kg: number;
	/** Flow at its end. */
	flow_kg_s: number;
}

/** One combine's runs of the auger in order of time, with indices for fast lookup. */
export interface Runs {
	list: Run[];
	end_s: Float64Array;
}

/** A shorter pause in the signal does not end a run, seconds. */
const PAUSE_S = 12;

/** Finds a combine's runs of the auger; null where the log has no such signal. */
export function runsOf(records: Records, f: Flowing): Runs | null {
	const list: Run[] = [];
	let known = 0;
	for (let k = 0; k < f.index.length; k++) {
		const on = records.augerOn[f.index[k]!]!;
		if (on !== -1) known++;
		if (on !== 1) continue;
		const start_s = f.from_s[k]!;
		const end_s = f.time_s[k]!;
		const run = list.at(-1);
		// A longer gap in the log ends a run.
		if (run && start_s - run.end_s <= PAUSE_S) run.end_s = end_s;
		else list.push({ start_s, end_s, endMass_kg: 0, flow_kg_s: 0 });
	}
	if (list.length === 0 || known <= 0.05 * f.index.length) return null;
	for (const run of list) Object.assign(run, { endMass_kg: massAt(f, run.end_s), flow_kg_s: flowAround(f, run.end_s) });
	return { list, end_s: Float64Array.from(list, (r) => r.end_s) };
}

/** Index of the first run, from `from` on, that ends after t. */
export function runAfter(runs: Runs, t: number, from: number): number {
	return firstAbove(runs.end_s, t, from);
}
