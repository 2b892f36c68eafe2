import {
	afterFactors,
	decisionsOf,
	type Evidence,
	type FactorInput,
	mixed,
	solveEvidence,
	solveFactors,
} from '../factor/index.ts';
import { inGivenUnits, restatedBy } from '../match/index.ts';
import { type Factors, type Match, type Progress, type Reference, silent } from '../model/index.ts';
import { leveledBySeams } from './level.ts';
import { truckWeights, withTruckWeights } from './truckweights.ts';

/** A match and a reference that may both be right, with their probability. */
interface Case {
	weight: number;
	match: Match;
	reference: Reference;
}

/** The cases, that of the best match and the likeliest reference first. */
function casesOf({ match, reference }: FactorInput): Case[] {
	const { alternatives = [], ...main } = match;
	const either = [...(reference.either ?? [{ weight: 1, reference }])];
	either.sort((a, b) => b.weight - a.weight);
	const own = 1 - alternatives.reduce((sum, a) => sum + a.weight, 0);
	return [{ weight: own, match: main as Match }, ...alternatives].flatMap((a) =>
		either.map((b) => ({ weight: a.weight * b.weight, match: a.match, reference: b.reference })),
	);
}

/** The evidence of the weights in one case, whatever factors are set by hand. */
export interface CaseEvidence {
	weight: number;
	/** With weights by truckloads in place of those that are set aside. */
	input: FactorInput;
	evidence: Evidence;
}

/** The evidence of the weights in each case: the part of `factorsOf` that a value set by hand leaves. */
export function evidenceOf(input: FactorInput, progress: Progress): CaseEvidence[] {
	return casesOf(input).map((c, i) => {
		const listen = i === 0 ? progress : silent;
		const first = inputFor(input, c);
		const evidence = solveEvidence(first, listen);
		const { match } = first;
		const decided = afterFactors(match, decisionsOf(match, evidence[0]!));
		const weights = truckWeights(decided, first.book, first.plan);
		if (weights.size > 0) {
			const second = { ...first, match: withTruckWeights(match, decided, weights) };
			const again = solveEvidence(second, listen);
			// A truckload's weight that does not fit either is not used.
			const fits = again[0]!.interpretation.outliers.aside.every(
				(a) => !match.weighings[a.weighing]!.dumps.some((d) => weights.has(d)),
			);
			if (fits) return { weight: c.weight, input: second, evidence: again };
		}
		return { weight: c.weight, input: first, evidence };
	});
}

/**
 * Factors from the match and the reference, mixed over the other explanations that remain plausible for either. The match
 * is returned in the units of the files as given.
 */
export function factorsOf(
	input: FactorInput,
	progress: Progress,
	evidence: readonly CaseEvidence[] = evidenceOf(input, progress),
): { factors: Factors; match: Match } {
	const { alternatives: _, ...main } = input.match;
	const [best, ...others] = evidence.map((e, i) => {
		const factors = solveFactors({ ...e.input, plan: input.plan }, i === 0 ? progress : silent, e.evidence);
		return { weight: e.weight, factors, match: inGivenUnits(e.input.match, factors, input.records, input.account) };
	});
	const left = others.filter((o) => o.weight > LEAST);
	const factors = mixed(best!.factors, left, input.records.combines);
	return { factors: leveledBySeams({ ...input, match: main }, factors), match: best!.match };
}

/** Explanations less likely than this are dropped. */
const LEAST = 0.01;

/** The input for one case: masses by the cart are scaled to its reference's ratio. */
function inputFor(input: FactorInput, { match, reference }: Case): FactorInput {
	const { account, seams, book } = match.under ?? { account: input.account, seams: input.jumps, book: input.book };
	const by = reference.ratio / input.reference.ratio;
	const weighings = match.weighings.map((w) => (w.byCart ? { ...w, reference_kg: w.reference_kg * by } : w));
	const flows = account === input.account ? input.flows : undefined;
	const restated = restatedBy(match, input.records, input.account);
	return { ...input, match: { ...match, weighings }, reference, account, jumps: seams, book, flows, restated };
}
