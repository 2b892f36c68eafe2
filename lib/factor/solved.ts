import type {
	Account,
	FieldPlan,
	LoadBook,
	Match,
	MoistureOffset,
	Records,
	Reference,
	Seam,
	SeamJump,
	Track,
} from '../model/index.ts';
import type { Standing } from './carry.ts';
import type { Choice } from './choose.ts';
import type { FlowSlope } from './flow.ts';
import { type Shares, sharesOf } from './interval.ts';
import type { Timeline } from './segments.ts';
import type { Shape } from './shape.ts';
import type { Extra, Scatter, Solution } from './solve.ts';
import type { System } from './system.ts';

export interface FactorInput {
	records: Records;
	account: Account;
	track: Track;
	match: Match;
	reference: Reference;
	seams: Seam[];
	/** As recorded, before any factor. */
	jumps: SeamJump[];
	book: LoadBook;
	plan: FieldPlan;
	/** For the budget's line on dry yield. */
	moisture?: MoistureOffset[];
}

/** Everything the write-up of the factors draws on. */
export interface Solved {
	time: Timeline;
	system: System;
	slow: Float64Array;
	scatter: Scatter;
	scatterDf: number;
	extras: Extra[];
	solution: Solution;
	shapes: Shape[];
	choices: (Choice | null)[];
	slopes: FlowSlope[];
	state: Standing;
	rough: number[];
	flow: Float64Array;
	aside: { weighing: number; reason: string }[];
	/** Weights that the alignment had set aside, taken up again after all. */
	rescued: number[];
	/** Unloadings after which the alignment saw grain stay, where a change of the factor explains it better. */
	overturned: number[];
}

/** A functional of one combine's coefficients as a vector over all. */
export function functional(solved: Solved, combine: number, basis: readonly number[]): number[] {
	const f = new Array<number>(solved.system.p).fill(0);
	basis.forEach((v, j) => {
		f[solved.system.first[combine]! + j] = v;
	});
	return f;
}

export function valueAt(solved: Solved, combine: number, basis: readonly number[]): number {
	return basis.reduce((sum, v, j) => sum + v * solved.solution.beta[solved.system.first[combine]! + j]!, 0);
}

export function shares(solved: Solved, f: readonly number[], g?: readonly number[]): Shares {
	return sharesOf(solved.system, solved.slow, solved.scatter, solved.extras, solved.solution, f, g);
}
