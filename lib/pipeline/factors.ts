import { afterFactors, type FactorInput, mixed, solveFactors } from '../factor/index.ts';
import { inGivenUnits } from '../match/index.ts';
import { type Factors, type Match, type Progress, type Reference, silent } from '../model/index.ts';
import { leveledBySeams } from './level.ts';
import { truckWeights, withTruckWeights } from './truckweights.ts';

/**
 * Factors from the match and the reference, mixed over the other explanations that remain plausible for either. The match
 * is returned in the units of the files as given.
 */
export function factorsOf(input: FactorInput, progress: Progress): { factors: Factors; match: Match } {
	const { alternatives = [], ...main } = input.match;
	const either = [...(input.reference.either ?? [{ weight: 1, reference: input.reference }])];
	either.sort((a, b) => b.weight - a.weight);
	const own = 1 - alternatives.reduce((sum, a) => sum + a.weight, 0);
	const [best, ...others] = [{ weight: own, match: main as Match }, ...alternatives].flatMap((a, i) =>
		either.map(({ weight, reference }, j) => ({
			weight: a.weight * weight,
			...solved(input, a.match, reference, i + j === 0 ? progress : silent),
		})),
	);
	// The match compared explanations with one factor per combine; add what factor forms explain beyond that.
	const known = ({ factors, weight }: Part) => weight * Math.exp(Math.min(0, ahead(factors, best!.factors)) / 2);
	const sum = best!.weight + others.reduce((total, o) => total + known(o), 0);
	const left = others.map((o) => ({ ...o, weight: known(o) / sum })).filter((o) => o.weight > LEAST);
	const factors = left.length > 0 ? mixed(best!.factors, left) : best!.factors;
	return { factors: leveledBySeams({ ...input, match: main }, factors), match: best!.match };
}

interface Part {
	weight: number;
	factors: Factors;
}

/** Explanations less likely than this are dropped. */
const LEAST = 0.01;

/** Difference of what factor forms gain in two explanations, in −2 log-likelihood. */
function ahead(of: Factors, than: Factors): number {
	return (of.gain ?? 0) - (than.gain ?? 0) || 0;
}

/** Factors for one match and one reference: masses by the cart are scaled to that reference's ratio. */
function solved(input: FactorInput, match: Match, reference: Reference, progress: Progress) {
	const { account, seams, book } = match.under ?? { account: input.account, seams: input.jumps, book: input.book };
	const by = reference.ratio / input.reference.ratio;
	const weighings = match.weighings.map((w) => (w.byCart ? { ...w, reference_kg: w.reference_kg * by } : w));
	const first = { ...match, weighings };
	const solve = (match: Match) => solveFactors({ ...input, match, reference, account, jumps: seams, book }, progress);
	const restated = (match: Match, factors: Factors) => ({
		factors,
		match: inGivenUnits(match, factors, input.records, input.account),
	});
	const factors = solve(first);
	const decided = afterFactors(first, factors);
	const weights = truckWeights(decided, book, input.plan);
	if (weights.size > 0) {
		const second = withTruckWeights(first, decided, weights);
		const again = solve(second);
		// A truckload's weight that does not fit either is not used.
		const fits = (again.aside ?? []).every((a) => !second.weighings[a.weighing]!.dumps.some((d) => weights.has(d)));
		if (fits) return restated(second, again);
	}
	return restated(first, factors);
}
