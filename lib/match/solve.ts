import type { Records } from '../model/index.ts';
import { align } from './beam/align.ts';
import type { Hypothesis } from './beam/hypothesis.ts';
import { type Smoothed, smoothRests } from './outcome/smooth.ts';
import { type Emptying, emptyings } from './outcome/unloadings.ts';
import { lookUp, type Problem } from './problem/problem.ts';

/** Readings kept after each dump in the last rounds. */
const WIDTH = 24;
/** A clock less sure than this is no help in telling which run of the auger a dump is, seconds. */
const VAGUE_S = 120;

/** The best hypothesis at one offset of the clock and what follows from it. */
export interface Solved {
	/** All readings that were kept to the end, cheapest first. */
	all: Hypothesis[];
	hypothesis: Hypothesis;
	list: Emptying[];
	/** Combines that come with grain in the tank. */
	starts: boolean[];
	smooth: Smoothed;
}

export function solve(problem: Problem, records: Records, offset_s: number, clock_s: number): Solved {
	const table = lookUp(offset_s, false);
	const u_s = Number.isFinite(clock_s) ? Math.min(VAGUE_S, clock_s) : 0;
	const all = align(problem, table, { width: WIDTH, whole: true, clock_s: u_s });
	const hypothesis = all[0] as Hypothesis;
	const starts = startsWithGrain(hypothesis);
	const list = emptyings(problem, records, hypothesis);
	const smooth = smoothRests(problem, list, starts);
	dropTrifles(problem, list, smooth);
	return { all, hypothesis, list, starts, smooth };
}

/** A rest smaller than this is what clings to any tank, kg. */
const TRIFLE_KG = 60;

/** Rests that all weights together show to be nothing: unless somebody noted one, the tank was emptied. */
function dropTrifles(problem: Problem, list: readonly Emptying[], smooth: Smoothed): void {
	list.forEach((e, i) => {
		const noted = e.assignment ? problem.observations[e.assignment.observation]!.emptied === 0 : false;
		if (e.rests && e.assignment && !noted && (smooth.rest_kg[i] as number) < TRIFLE_KG) e.rests = false;
	});
}

/** Which tanks the hypothesis takes to come with grain. */
function startsWithGrain(hypothesis: Hypothesis): boolean[] {
	let first = hypothesis;
	while (first.parent) first = first.parent;
	const C = first.mass_kg.length;
	return Array.from({ length: C }, (_, c) => (first.belief.x[C + c] as number) > 0);
}
