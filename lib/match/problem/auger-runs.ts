import { firstAbove } from '../../stats/index.ts';
import { type Flowing, flowAround, massAt } from './mass.ts';
import type { Signals } from './signals.ts';

/** A run of the auger with the mass at its end. */
export interface Candidate {
	start_s: number;
	end_s: number;
	endMass_kg: number;
	/** Flow at its end. */
	flow_kg_s: number;
}

/** One combine's runs of the auger in order of time, with indices for fast lookup. */
export interface Runs {
	list: Candidate[];
	end_s: Float64Array;
}

/** Looks up mass and flow at a combine's runs of the auger; null where the log has no such signal. */
export function runsOf(f: Flowing, s: Signals): Runs | null {
	if (s.auger === null) return null;
	const list = s.auger.map((r) => ({
		start_s: r.start_s,
		end_s: r.end_s,
		endMass_kg: massAt(f, r.end_s),
		flow_kg_s: flowAround(f, r.end_s),
	}));
	return { list, end_s: Float64Array.from(list, (r) => r.end_s) };
}

/** Index of the first run, from `from` on, that ends after t. */
export function runAfter(runs: Runs, t: number, from: number): number {
	return firstAbove(runs.end_s, t, from);
}
