import type { Factor, Factors, Progress } from '../model/index.ts';
import type { FactorInput } from './input.ts';
import { mixed } from './mixture.ts';
import { covarianceOf, type Level, levelOf } from './report/records.ts';
import { remarks } from './report/remarks.ts';
import { factorOf } from './report/tell.ts';
import { worldCautions } from './report/worlds.ts';
import { type Solved, solveWeights } from './solve.ts';

export { afterFactors } from './after.ts';
export type { FactorInput } from './input.ts';
export { mixed } from './mixture.ts';

/**
 * The factors of all combines from all weights together, and what they make of every record.
 *
 * Everything that was weighed is one chain of grain coming in, tanks being unloaded and scales being read, with the sensors'
 * slow errors, rests in the tanks, gross readings that neighbors share and the cart's ratio as its unknowns (lib/tank).
 * Single bad weights are set aside. Combines without a weight take theirs over the seams. No weight at all: factors NaN,
 * source null.
 */
export function solveFactors(input: FactorInput, progress: Progress): Factors {
	const { records, plan } = input;
	progress.step('factors', 0);
	const pinned = new Map<number, number>();
	records.combines.forEach((name, c) => {
		const value = plan.pins.factors?.[name]?.value;
		if (value !== undefined) pinned.set(c, value);
	});
	const worlds = solveWeights(input, progress, pinned);
	// What the evidence gives where the user has decided otherwise.
	const evidence = pinned.size > 0 ? solveWeights(input, progress, new Map()) : worlds;
	const [best, ...others] = (pinned.size > 0 ? worlds.slice(0, 1) : worlds).map((solved, i) => ({
		weight: solved.weight,
		factors: under(input, solved, evidence[i]!, pinned),
	}));
	progress.step('factors', 1);
	const all = others.length > 0 ? mixed(best!.factors, others) : best!.factors;
	return { ...all, gain: worlds[0]!.gain, cautions: [...(all.cautions ?? []), ...worldCautions(input, worlds)] };
}

/** The factors in one world. */
function under(input: FactorInput, solved: Solved, evidence: Solved, pinned: ReadonlyMap<number, number>): Factors {
	const { records, match } = input;
	const factor = new Float64Array(records.n).fill(Number.NaN);
	const u_rel = new Float64Array(records.n).fill(Number.NaN);
	const factors = records.combines.map((_, c) => {
		const pin = pinned.get(c) ?? Number.NaN;
		if (!Number.isNaN(pin)) return byHand(input, solved, evidence, c, pin, factor, u_rel);
		const level = solved.state.told[c] ? levelOf(input, solved, c, Number.NaN, factor, u_rel) : NOTHING;
		return factorOf(input, solved, c, level);
	});
	const covariance = covarianceOf(solved, factors);
	return {
		factors,
		factor,
		u_rel,
		covariance,
		aside: solved.aside,
		rescued: solved.rescued.map((w) => match.weighings[w]!.dumps[0]!),
		overturned: solved.overturned,
		...remarks(input, solved, factors, covariance),
	};
}

const NOTHING: Level = { value: Number.NaN, shift: 0 };

/** A factor set by hand stands as it is; advice, budget and what the weights say go by the evidence. */
function byHand(
	input: FactorInput,
	solved: Solved,
	evidence: Solved,
	c: number,
	value: number,
	factor: Float64Array,
	u_rel: Float64Array,
): Factor {
	const n = input.records.n;
	const told = evidence.state.told[c]!;
	const level = told ? levelOf(input, evidence, c, Number.NaN, new Float64Array(n), new Float64Array(n)) : NOTHING;
	const by = factorOf(input, evidence, c, level);
	const { shift } = levelOf(input, solved, c, value, factor, u_rel);
	const half = (by.next_interval[1] - by.next_interval[0]) / 2 || 0;
	const moved = (k: { value: number }) => ({ value: k.value - level.shift + shift });
	return {
		...by,
		value,
		u_rel: 0,
		interval: [value, value],
		next_interval: [value - half, value + half],
		source: 'pinned',
		weighed:
			by.source === null || by.source === 'pinned'
				? null
				: { value: by.value, interval: by.interval, n: by.n, source: by.source },
		changes: by.changes.map((k) => ({ ...k, ...moved(k) })),
		knots: by.knots.map((k) => ({ ...k, ...moved(k) })),
		curve: by.curve.map((k) => ({ ...k, ...moved(k) })),
	};
}
