import type { Factors, Progress } from '../model/index.ts';
import { covarianceOf, overRecords } from './records.ts';
import { remarks } from './remarks.ts';
import type { FactorInput } from './solved.ts';
import { factorOf } from './tell.ts';
import { solveAll } from './together.ts';

export { afterFactors } from './fates.ts';
export type { FactorInput } from './solved.ts';

/**
 * The factors of all combines from all weights together, and what they make of every record.
 *
 * Weighings are one linear system in the factors' coefficients: a chain of unloadings with rests between them, gross
 * readings that neighbours share, weights of two combines, tickets, totals; solved by generalised least squares with the
 * sensors' slow errors in the covariance. Single bad weights are set aside. Combines without a weight take theirs over
 * the seams. No weight at all: factors NaN, source null.
 */
export function solveFactors(input: FactorInput, progress: Progress): Factors {
	const solved = solveAll(input, progress);
	progress.step('factors', 0.8);
	const factors = input.records.combines.map((_, c) => factorOf(input, solved, c));
	const { factor, u_rel } = overRecords(input, solved, factors);
	progress.step('factors', 1);
	return {
		factors,
		factor,
		u_rel,
		covariance: covarianceOf(input, solved, factors),
		aside: solved.aside,
		rescued: solved.rescued.map((w) => input.match.weighings[w]!.dumps[0]!),
		overturned: solved.overturned,
		...remarks(input, solved, factors),
	};
}
