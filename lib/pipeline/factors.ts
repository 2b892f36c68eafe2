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
import { CART, type Factors, type Match, type Progress, type Reference, silent } from '../model/index.ts';
import { scaleReference } from '../reference/index.ts';
import { leveledBySeams } from './level.ts';
import { truckWeights, withTruckWeights } from './truckweights.ts';

/** A match and a reference that may both be right, with their probability. */
interface Case {
	weight: number;
	match: Match;
	reference: Reference;
	apart?: true;
}

/** The cases, that of the best match and the likeliest reference first. */
function casesOf({ match, reference }: FactorInput): Case[] {
	const { alternatives = [], ...main } = match;
	const either = [...(reference.either ?? [{ weight: 1, reference }])];
	either.sort((a, b) => b.weight - a.weight);
	const own = 1 - alternatives.reduce((sum, a) => sum + a.weight, 0);
	return [{ weight: own, match: main as Match }, ...alternatives].flatMap((a) =>
		either.map((b) => ({ ...a, weight: a.weight * b.weight, reference: b.reference })),
	);
}

/** The evidence of the weights in one case, whatever factors are set by hand. */
export interface CaseEvidence {
	weight: number;
	/** Its factors are not averaged with the others'. */
	apart?: true;
	/** With weights by truckloads in place of those that are set aside. */
	input: FactorInput;
	evidence: Evidence;
}

/** The evidence of the weights in each case: the part of `factorsOf` that a value set by hand leaves. */
export function evidenceOf(input: FactorInput, progress: Progress): CaseEvidence[] {
	return casesOf(input).map((c, i) => {
		const listen = i === 0 ? progress : silent;
		const first = inputFor(input, c);
		const found = { weight: c.weight, apart: c.apart, input: first, evidence: solveEvidence(first, listen) };
		const decided = afterFactors(first.match, decisionsOf(found.evidence[0]!));
		const reference = referenceOf(input, first.reference, decided);
		const weights = truckWeights(decided, first.book, first.plan);
		const byUsed = reference === first.reference ? first : inputFor(first, { ...c, reference });
		const again = (second: FactorInput) => ({ ...found, input: second, evidence: solveEvidence(second, listen) });
		if (weights.size > 0) {
			const match = withTruckWeights(byUsed.match, decided, weights);
			const byTrucks = again({ ...byUsed, match });
			// A truckload's weight that does not fit either is not used.
			const fits = byTrucks.evidence[0]!.interpretation.outliers.aside.every(
				(a) => !match.weighings[a.weighing]!.dumps.some((d) => weights.has(d)),
			);
			if (fits) return byTrucks;
		}
		return byUsed === first ? found : again(byUsed);
	});
}

/** The reference by the dumps that are used: those that are not would move the ratio, and the factors of the others with it. */
function referenceOf({ book, plan }: FactorInput, given: Reference, { fates }: Match): Reference {
	const aside = new Set(fates.flatMap((f) => (f.status === 'aside' ? [f.dump] : [])));
	if (given.source !== 'tickets' || given.either || aside.size === 0) return given;
	const found = scaleReference({ book: { ...book, dumps: book.dumps.filter((_, d) => !aside.has(d)) }, plan });
	// Less than certified scales may be off by is no other ratio.
	const other = Math.abs(found.ratio / given.ratio - 1) > CART.certified_rel;
	return other && found.source === 'tickets' && !found.either ? found : given;
}

/**
 * Factors from the match and the reference, mixed over the other explanations that remain plausible for either. The match
 * is returned in the units of the files as given, the reference by the dumps that are used.
 */
export function factorsOf(
	input: FactorInput,
	progress: Progress,
	evidence: readonly CaseEvidence[] = evidenceOf(input, progress),
): { factors: Factors; match: Match; reference: Reference } {
	const { alternatives: _, ...main } = input.match;
	const [best, ...others] = evidence.map((e, i) => {
		const factors = solveFactors({ ...e.input, plan: input.plan }, i === 0 ? progress : silent, e.evidence);
		return {
			weight: e.weight,
			apart: e.apart,
			factors,
			match: inGivenUnits(e.input.match, factors, input.records, input.account),
		};
	});
	const left = others.filter((o) => o.weight > LEAST);
	const factors = mixed(best!.factors, left, input.records.combines);
	const reference = input.reference.either ? input.reference : evidence[0]!.input.reference;
	return { factors: leveledBySeams({ ...input, match: main }, factors), match: best!.match, reference };
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
