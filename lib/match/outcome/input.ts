import type { Clock, FieldPlan, LoadBook, Records, Reference } from '../../model/index.ts';
import type { Hypothesis } from '../beam/hypothesis.ts';
import type { Excluded } from '../problem/observations.ts';
import type { Problem } from '../problem/problem.ts';
import type { Emptying } from './emptying.ts';
import type { Smoothed } from './smooth.ts';

/** A solved hypothesis, and what else a `Match` is made from. */
export interface OutcomeInput {
	problem: Problem;
	records: Records;
	book: LoadBook;
	plan: FieldPlan;
	reference: Reference;
	hypothesis: Hypothesis;
	list: Emptying[];
	smooth: Smoothed;
	starts: boolean[];
	excluded: Excluded[];
	doubtful: Set<number>;
	clock: Clock;
	clockFit: { offset_s: number; cost: number }[];
	notes: string[];
	cautions: string[];
}
