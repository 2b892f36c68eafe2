import type { Records } from '../model/index.ts';
import { align } from './beam/align.ts';
import type { Hypothesis } from './beam/hypothesis.ts';
import { attribute } from './outcome/attribute.ts';
import type { Emptying } from './outcome/emptying.ts';
import { emptyings } from './outcome/unloadings.ts';
import type { Problem } from './problem/problem.ts';

/** Hypotheses kept after each dump: with 16, dumps go wrong where the auger is silent or faulty and grain is left in tanks. */
const WIDTH = 24;
/** Largest standard uncertainty of the clock used in the search, seconds: beyond it the time does not identify a run of the auger. */
const VAGUE_S = 120;

/** The best hypothesis at one offset of the clock, with its unloadings and factors. */
export interface BestHypothesis {
	/** All hypotheses that were kept to the end, cheapest first. */
	all: Hypothesis[];
	hypothesis: Hypothesis;
	list: Emptying[];
	/** One per combine: grain was in its tank at the start. */
	starts: boolean[];
	/** Factors by all weights, one per combine, and their standard uncertainties. */
	factor: number[];
	u_factor: number[];
}

/** Finds the best hypothesis at an offset whose standard uncertainty is `clock_s`, seconds. */
export function bestAtOffset(problem: Problem, records: Records, offset_s: number, clock_s: number): BestHypothesis {
	const u_s = Number.isFinite(clock_s) ? Math.min(VAGUE_S, clock_s) : 0;
	const all = align(problem, offset_s, { width: WIDTH, whole: true, clock_s: u_s });
	return solvedBy(problem, records, all, all[0]!, offset_s);
}

/** One of the hypotheses that a search kept, with its unloadings and factors. */
export function solvedBy(
	problem: Problem,
	records: Records,
	all: Hypothesis[],
	hypothesis: Hypothesis,
	offset_s: number,
): BestHypothesis {
	const { n, x, P } = hypothesis.belief;
	const factor = problem.flows.map((_, c) => x[c]!);
	const u_factor = problem.flows.map((_, c) => Math.sqrt(P[c * n + c]!));
	const starts = startsWithGrain(hypothesis);
	const list = emptyings(problem, records, hypothesis);
	attribute(problem, list, factor, offset_s);
	return { all, hypothesis, list, starts, factor, u_factor };
}

/** Finds the combines with grain in the tank at the start of a hypothesis. */
function startsWithGrain(hypothesis: Hypothesis): boolean[] {
	let first = hypothesis;
	while (first.parent) first = first.parent;
	const C = first.mass_kg.length;
	return Array.from({ length: C }, (_, c) => first.belief.x[C + c]! > 0);
}
