import type { Observation } from '../problem/observations.ts';
import type { Problem, Table } from '../problem/problem.ts';
import type { Effort } from './effort.ts';
import type { Hypothesis, Offers } from './hypothesis.ts';

/** One dump after one hypothesis: the input of all functions that offer assignments. */
export interface Step {
	problem: Problem;
	table: Table;
	effort: Effort;
	/** Index of the dump among the observations. */
	i: number;
	observation: Observation;
	hypothesis: Hypothesis;
	offers: Offers;
}
