import { MONITOR, type Progress, TANK } from '../model/index.ts';
import { type Layout, PRIOR_DF, type Scatter, type Tape, USUAL_SCATTER } from '../tank/index.ts';
import { type Chain, chainOf } from './chain/chain.ts';
import { type Play, taped } from './chain/play.ts';
import { scatterOf } from './chain/scatter.ts';
import { twoScales } from './chain/two-scales.ts';
import { coverageOf } from './coverage.ts';
import { CONSTANT } from './form/shape.ts';
import { type Hypothesis, hypothesesOf } from './hypotheses.ts';
import type { FactorInput } from './input.ts';
import { interpretationsOf, outliersOf, withOutliers } from './interpretations.ts';
import { constants, type Premises, playOf, premisesOf } from './premises.ts';
import { type SeamSeries, seamSeries, withSeamChange } from './seamchange.ts';

/** The chain of all that was weighed, solved under one hypothesis: the source of the factors and of all that is reported of them. */
export interface Solved extends Premises, Hypothesis {
	/** Without the outliers. */
	chain: Chain;
	play: Play;
	at: Layout;
	tape: Tape;
	scatter: Scatter;
	scatterDf: number;
	/** Unloadings after which the match has grain left in the tank, and this hypothesis a change of the factor instead. */
	emptiedAfterAll: number[];
}

/**
 * Cuts the logs into fills, chains them to the weights, finds outliers and grain left in tanks, chooses the forms of the
 * factors, compares hypotheses, and solves the chain under each with errors of estimated size.
 *
 * @param pinned - factors set by hand, by combine; the others are estimated given these
 * @returns the hypotheses that remain, likeliest first
 */
export function solveWeights(input: FactorInput, progress: Progress, pinned: ReadonlyMap<number, number>): Solved[] {
	const plainly = premisesOf(input, pinned);
	const scales = twoScales(plainly) ?? plainly.chain.scales;
	const premises = { ...plainly, chain: { ...plainly.chain, scales } };
	const constant = constants(premises);
	progress.step('factors', 0.2);
	const matched = outliersOf(premises, premises.rest);
	const plain = playOf(premises, constant, premises.rest, USUAL_SCATTER);
	const size = scatterOf(premises.chain, withOutliers(plain, matched));
	progress.step('factors', 0.4);
	const interpretations = interpretationsOf(premises, matched, size);
	progress.step('factors', 0.6);
	const hypotheses = hypothesesOf(
		premises,
		interpretations,
		{ ...playOf(premises, constant, premises.rest, size), sigma: MONITOR.slow },
		seriesOf(premises),
	);
	progress.step('factors', 0.8);
	return hypotheses.map((hypothesis) => solved(premises, hypothesis, size));
}

/** Seams of the combines whose factor and form are not set by hand. */
function seriesOf({ input, coverage, forms, pinned }: Premises): SeamSeries[] {
	if (pinned.size > 0) return [];
	return forms.flatMap((form, c) => (coverage.own[c]! > 0 && !form ? [seamSeries(input, c)] : []));
}

/** Solves the chain without its outliers, first to estimate the sizes of errors, then with these. */
function solved(premises: Premises, hypothesis: Hypothesis, usualSize: Scatter): Solved {
	const { input, chain: whole, rough, rest, noted, coverage } = premises;
	const { match, jumps } = input;
	const { interpretation, shapes, cart, bySeams } = hypothesis;
	const { outliers, reconsidered } = interpretation;
	const bad = new Set(outliers.aside.map((a) => a.weighing));
	const chain = bad.size === 0 ? whole : chainOf({ ...whole, use: whole.order.filter((w) => !bad.has(w)) });
	const moved = { ...cart, at: sameStep(whole, chain, cart.at) };
	const usually = playOf(premises, shapes, outliers.rest, USUAL_SCATTER);
	const prior = bySeams ? withSeamChange(usually.prior, bySeams, rough) : usually.prior;
	const last: Play = { ...usually, prior, last: true, cart: moved };
	const scatter = chain.order.length > 0 ? scatterOf(chain, last) : usualSize;
	const play = { ...last, sigma: scatter.sigma, rests: scatter.rests, white: scatter.white };
	const { at, tape } = taped(chain, play);
	const coefficients = shapes.reduce((s, f, c) => s + (coverage.any[c]! > 0 ? 1 + Number(f !== CONSTANT) : 0), 0);
	return {
		...premises,
		...hypothesis,
		cart: moved,
		chain,
		play,
		at,
		tape,
		scatter,
		scatterDf: Math.max(0, chain.order.length - coefficients) + PRIOR_DF,
		coverage: coverageOf(match, chain.order, jumps, rough.length),
		emptiedAfterAll: match.unloadings.flatMap((u, i) =>
			reconsidered.includes(u.combine) && !noted.has(i) && rest.u_kg[i]! > TANK.broad_kg ? [i] : [],
		),
	};
}

/** The step of another chain of the same field before which the change at step `at` falls. */
function sameStep(from: Chain, to: Chain, at: number): number {
	const step = from.steps[at];
	if (!step || step.do === 'in' || step.do === 'unload') return -1;
	return to.steps.findIndex((s) => (s.do === 'weigh' || s.do === 'check') && s.time_s >= step.time_s);
}
