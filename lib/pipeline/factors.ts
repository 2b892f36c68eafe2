import { type FactorInput, solveFactors } from '../factor/index.ts';
import { inGivenUnits } from '../match/index.ts';
import { type Factors, type Match, type Progress, silent } from '../model/index.ts';
import { leveledBySeams } from './level.ts';
import { mixed } from './mixture.ts';

/**
 * Factors from the match and from the alternatives that remain beside it: their mixture. The match comes back in the
 * terms of the files as given.
 */
export function factorsOf(input: FactorInput, progress: Progress): { factors: Factors; match: Match } {
	const { alternatives = [], ...main } = input.match;
	const best = under(input, main, progress);
	if (alternatives.length === 0) return { ...best, factors: leveledBySeams({ ...input, match: main }, best.factors) };
	const others = alternatives.map(({ weight, match }) => ({ weight, factors: under(input, match, silent).factors }));
	return { factors: mixed(best.factors, others), match: best.match };
}

function under(input: FactorInput, match: Match, progress: Progress): { factors: Factors; match: Match } {
	const { account, seams, book } = match.under ?? { account: input.account, seams: input.jumps, book: input.book };
	const factors = solveFactors({ ...input, match, account, jumps: seams, book }, progress);
	return { factors, match: inGivenUnits(match, factors, input.records, input.account) };
}
