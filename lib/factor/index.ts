import type { Factor, Factors, Progress } from '../model/index.ts';
import type { Decisions } from './after.ts';
import type { FactorInput } from './input.ts';
import { mixed } from './mix-hypotheses.ts';
import { calibrationAdvice } from './report/advice.ts';
import { alternativeCautions } from './report/alternative-cautions.ts';
import { covarianceOf, type Level, levelOf, type PerRecord } from './report/per-record.ts';
import { remarks } from './report/remarks.ts';
import { factorOf } from './report/writeup.ts';
import { type Solved, solveWeights } from './solve-weights.ts';

export { afterFactors } from './after.ts';
export { type Flows, flowsOf } from './flows.ts';
export { showsCurve } from './form/curve.ts';
export type { FactorInput } from './input.ts';
export { mixed } from './mix-hypotheses.ts';

/**
 * Estimates the factors of all combines from all weights together, and the factor of every record.
 *
 * All that was weighed is one chain of grain coming in, tanks being unloaded and scales being read (lib/tank). Its unknowns are
 * the factors, the sensors' slow errors, grain left in tanks, gross readings that two weights share and the cart ratio.
 * Outliers are set aside. A combine without a weight gets its factor over the seams. Where nothing determines a factor it is
 * NaN, with source null.
 *
 * @param evidence - of the weights without the factors set by hand, for the same input otherwise
 */
export function solveFactors(
	input: FactorInput,
	progress: Progress,
	evidence: Evidence = solveEvidence(input, progress),
): Factors {
	const { records, plan } = input;
	const pinned = new Map<number, number>();
	records.combines.forEach((name, c) => {
		const value = plan.pins.factors?.[name]?.value;
		if (value !== undefined) pinned.set(c, value / (input.restated?.[c] ?? 1));
	});
	const hypotheses = pinned.size > 0 ? solveWeights(input, progress, pinned) : evidence;
	const [best, ...others] = (pinned.size > 0 ? hypotheses.slice(0, 1) : hypotheses).map((solved, i) => ({
		weight: solved.weight,
		factors: under(input, solved, evidence[i]!, pinned),
	}));
	progress.step('factors', 1);
	const all = mixed(best!.factors, others, records.combines);
	return {
		...all,
		cautions: [...(all.cautions ?? []), ...alternativeCautions(input, hypotheses)],
	};
}

/** The weights solved under each hypothesis that remains, likeliest first. */
export type Evidence = readonly Solved[];

/** The evidence of the weights, whatever factors are set by hand. The estimates without those are reported beside them. */
export function solveEvidence(input: FactorInput, progress: Progress): Evidence {
	progress.step('factors', 0);
	return solveWeights(input, progress, new Map());
}

/** The factors under one hypothesis. */
function under(input: FactorInput, solved: Solved, evidence: Solved, pinned: ReadonlyMap<number, number>): Factors {
	const { records } = input;
	const to = perRecord(records.n);
	const factors = records.combines.map((_, c) => {
		const pin = pinned.get(c) ?? Number.NaN;
		if (!Number.isNaN(pin)) return byHand(input, { solved, evidence, c, value: pin, to });
		const level = solved.coverage.estimable[c] ? levelOf(input, solved, c, to) : NOTHING;
		return factorOf(input, solved, c, level);
	});
	const covariance = covarianceOf(solved, factors);
	return {
		factors,
		...to,
		covariance,
		...decisionsOf(solved),
		...remarks(input, solved, factors, covariance),
	};
}

/** What follows from a hypothesis for weights and tanks. */
export function decisionsOf({ interpretation, emptiedAfterAll }: Solved): Decisions {
	return { aside: interpretation.outliers.aside, emptiedAfterAll };
}

function perRecord(n: number): PerRecord {
	return { factor: new Float64Array(n).fill(Number.NaN), u_rel: new Float64Array(n).fill(Number.NaN) };
}

const NOTHING: Level = { value: Number.NaN, shift: 0, u_unrecorded_rel: 0 };

/** A factor set by hand is kept as it is; its advice, budget and estimate are those without it. */
function byHand(
	input: FactorInput,
	{ solved, evidence, c, value, to }: { solved: Solved; evidence: Solved; c: number; value: number; to: PerRecord },
): Factor {
	const estimable = evidence.coverage.estimable[c]!;
	const level = estimable ? levelOf(input, evidence, c, perRecord(input.records.n)) : NOTHING;
	const by = factorOf(input, evidence, c, level);
	const { shift } = levelOf(input, solved, c, to, value);
	const name = input.records.combines[c]!;
	const half = (by.next_interval[1] - by.next_interval[0]) / 2 || 0;
	const moved = (k: { value: number }) => ({ value: k.value - level.shift + shift });
	return {
		...by,
		value,
		u_rel: 0,
		interval: [value, value],
		next_interval: [value - half, value + half],
		source: 'pinned',
		advice: by.source === null ? by.advice : [calibrationAdvice(name, by, value), ...by.advice.slice(1)],
		weighed:
			by.source === null || by.source === 'pinned'
				? null
				: { value: by.value, interval: by.interval, n: by.n, source: by.source },
		changes: by.changes.map((k) => ({ ...k, ...moved(k) })),
		knots: by.knots.map((k) => ({ ...k, ...moved(k) })),
		curve: by.curve.map((k) => ({ ...k, ...moved(k) })),
	};
}
