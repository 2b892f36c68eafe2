import type { Belief } from './belief.ts';

/** What one dump is taken for in a hypothesis of the logs. */
export interface Assignment {
	/** Index into Problem.observations. */
	observation: number;
	kind: 'normal' | 'mixed' | 'repeat' | 'foreign' | 'nonsense';
	/** Combine, −1 where none; the second one of a mixed weight. */
	combine: number;
	other: number;
	/** Which tanks keep a rest. */
	rests: boolean;
	otherRests: boolean;
	/** End of the unloading, log time, and the variance of the level that its uncertainty makes. */
	place: Place | null;
	otherPlace: Place | null;
	/** Unloadings of `combine` before this one that no dump stands for, in order of time. */
	inserts: Insert[];
	/** Index into Problem.observations of the dump which this one repeats, −1 where none. */
	of: number;
}

/** Where an unloading ends. */
export interface Place {
	end_s: number;
	mass_kg: number;
	/** Variance of the level at its nominal end: grain keeps coming while the end is uncertain. */
	slack: number;
	/** Index into Problem.runs[c], −1 where no run of the auger stands for it. */
	run: number;
	/** First run after it. */
	nextRun: number;
	/** What the place itself costs. */
	cost: number;
	/** Runs between the previous unloading and this one. */
	skipped: number[];
}

/** Grain that left a tank without a dump row. */
export interface Insert {
	kind: 'unknown' | 'deduced' | 'run';
	/** Index into Problem.deduced, −1 where nothing tells of it. */
	deduced: number;
	/** Runs of the auger that stand for it. */
	runs: number[];
	/** It left some in the tank. */
	rests: boolean;
}

/** What became of a tank after its last dump. */
export interface Ending {
	combine: number;
	/** Level when the log ends, all known unloadings counted. */
	level_kg: number;
	inserts: Insert[];
}

/** A hypothesis of the logs up to some dump. */
export interface Hypothesis {
	cost: number;
	belief: Belief;
	/** Per combine: monitor mass and time at its latest unloading, and the first run of the auger after it. */
	mass_kg: Float64Array;
	time_s: Float64Array;
	nextRun: Int32Array;
	/** End of the latest unloading of any combine. */
	last_s: number;
	/** Bit p is set where Problem.deduced[p] has found its place. */
	deduced: number;
	assignment: Assignment | null;
	parent: Hypothesis | null;
	/** Readings that led to the same state at nearly the same cost: the future cannot tell them apart. */
	rivals: Hypothesis[];
	endings: Ending[];
}

/** The assignments of a hypothesis, in the order of the observations. */
export function assignmentsOf(hypothesis: Hypothesis): Assignment[] {
	const list: Assignment[] = [];
	for (let r: Hypothesis | null = hypothesis; r; r = r.parent) if (r.assignment) list.push(r.assignment);
	return list.reverse();
}

/** Takes an offer: what an assignment costs. */
export type Offerer = (cost: number, assignment: Assignment) => void;

export function plainAssignment(observation: number, kind: Assignment['kind']): Assignment {
	return {
		observation,
		kind,
		combine: -1,
		other: -1,
		rests: false,
		otherRests: false,
		place: null,
		otherPlace: null,
		inserts: [],
		of: -1,
	};
}
