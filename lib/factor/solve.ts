import { MONITOR, type Progress, type SeamJump, TANK } from '../model/index.ts';
import { type Layout, PRIOR_DF, priorFactor, type Scatter, Tape, USUAL_SCATTER } from '../tank/index.ts';
import { type CartForm, scalesOf } from './chain/cart.ts';
import { type Chain, chainOf } from './chain/chain.ts';
import { type Play, places, type Relation, type Rests, restsOf, run, usual } from './chain/play.ts';
import { scatterOf } from './chain/scatter.ts';
import { type Timeline, timeline } from './chain/timeline.ts';
import {
	coversOnly,
	isUsable,
	notedRests,
	restsCost,
	roughFactors,
	setAsideWeights,
	withoutRests,
} from './chain/weights.ts';
import { type Coverage, coverageOf } from './coverage.ts';
import { flowsOf } from './flows.ts';
import { type Choice, chooseForm, ownWeights, stepAt, trendOf } from './form/choose.ts';
import { acceptsCurve } from './form/curve.ts';
import { CONSTANT, type Shape } from './form/shape.ts';
import type { FlowSlope } from './form/slopes.ts';
import { cartStep, type Hypothesis, hypothesesOf, type Interpretation } from './hypotheses.ts';
import type { FactorInput } from './input.ts';
import { type LateChange, lateChange } from './latechange.ts';
import { findOutliers, type Outliers } from './outliers.ts';
import { helpfulJumps, meanOf, seamRelations } from './seamrelations.ts';

/** The chain of all that was weighed, solved under one hypothesis: the source of the factors and of all that is reported of them. */
export interface Solved {
	time: Timeline;
	chain: Chain;
	play: Play;
	at: Layout;
	tape: Tape;
	scatter: Scatter;
	scatterDf: number;
	shapes: Shape[];
	choices: (Choice | null)[];
	slopes: FlowSlope[];
	coverage: Coverage;
	rough: number[];
	flow: Float64Array;
	aside: { weighing: number; reason: string }[];
	/** Probability of the hypothesis, and its error of the cart's scale. */
	weight: number;
	cart: CartForm;
	/** A change after the last weight, estimated from the seams. */
	late: LateChange | null;
	/** The best hypothesis's reduction of −2 log-likelihood against the constant factors of the match. */
	gain: number;
	/** Weighings that the match set aside and this hypothesis uses. */
	reinstated: number[];
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
	const { records, account, match, reference, plan, track, seams, jumps } = input;
	const { orders, flow, slopes, curves } = input.flows ?? flowsOf(input);
	const combines = records.combines.length;
	const events = plan.events.filter((e) => ['calibrated', 'header', 'variety'].includes(e.kind));
	const of = (c: number) =>
		events.filter((e) => e.combine === null || e.combine === records.combines[c]).map((e) => e.time_s);
	const time = timeline({ records, account, match, orders, flow, events: events.map((e) => e.time_s) });
	const use = match.weighings.map((_, w) => w).filter((w) => isUsable(match, time, w));
	const rough = roughFactors(match, time, use, combines);
	const rest = restsOf(match, rough);
	const constants = records.combines.map(() => CONSTANT);
	progress.step('factors', 0.2);

	const scales = scalesOf(match, reference, input.book, plan);
	const coverage = coverageOf(match, use, jumps, combines);
	let helpful: SeamJump[] = [];
	const relationsFor = (shapes: readonly Shape[]): Relation[] => [
		...seamRelations({ account, track, seams, jumps: helpful, time, time_s: records.time_s, flow, shapes, rough }),
		...[...pinned].map(([c, k]) => pinRelation(time, shapes[c]!, c, k)),
	];
	const playOf = (shapes: readonly Shape[], rests: Rests, size: Scatter): Play => ({
		...usual(rough, shapes, rests, relationsFor(shapes)),
		prior: (c, j) => {
			if (j === 0) return priorFactor(rough[c]!);
			const curve = shapes[c]!.form === 'flow' && slopes[c]!.why === null;
			return curve
				? { mean: rough[c]! * slopes[c]!.slope, u: rough[c]! * slopes[c]!.u, seam: true }
				: { mean: 0, u: rough[c]! * (shapes[c]!.form === 'flow' ? MONITOR.curve : 1) };
		},
		sigma: size.sigma,
		rests: size.rests,
	});
	const scaleRatio = reference.ratio > 0 ? reference.ratio : 1;
	const chained = (use: readonly number[]) => chainOf({ match, time, scales, scaleRatio, use, rough });
	helpful = helpfulJumps(chained(use), playOf(constants, rest, USUAL_SCATTER), jumps, coverage);
	const chainWithOutliers = (weights: readonly number[], rests: Rests) => {
		const chain = chained(weights);
		const play = playOf(constants, rests, USUAL_SCATTER);
		// After a step of the cart's scale, right weights would look like outliers.
		const cart = match.scaleChanged ? cartStep(chain, play) : null;
		return { chain, outliers: findOutliers(chain, cart ? { ...play, cart } : play) };
	};
	const base = chainWithOutliers(use, rest);
	const size = scatterOf(base.chain, withOutliers(playOf(constants, rest, USUAL_SCATTER), base.outliers));
	progress.step('factors', 0.4);

	const noted = notedRests(input);
	const forms = records.combines.map((name) => plan.pins.factors?.[name]?.form);
	const interpretation = (
		found: ReturnType<typeof chainWithOutliers>,
		reconsidered: readonly number[],
		reinstated: readonly number[],
		asMatched: Interpretation | null = null,
	): Interpretation => {
		const play = withOutliers(playOf(constants, found.outliers.rest, size), found.outliers);
		const choices = records.combines.map((_, c) => {
			if (!coverage.owned[c]) return null;
			// The weights of the others are as they were, and so is the form that they show.
			if (asMatched && !reconsidered.includes(c)) return asMatched.choices[c]!;
			const choice = chooseForm(found.chain, play, c, of(c));
			const form = forms[c];
			return form ? { ...choice, shape: pinnedShape(found.chain, choice, form, c, of(c)) } : choice;
		});
		const shapes = choices.map((c) => c?.shape ?? CONSTANT);
		records.combines.forEach((_, c) => {
			const open = shapes[c]!.form === 'constant' && !forms[c] && coverage.owned[c];
			if (forms[c] !== 'flow' && !open) return;
			const shape = curves[c]!;
			const curved = shapes.map((s, k) => (k === c ? shape : s));
			const level = { ...play, shapes };
			const curve = withOutliers(playOf(curved, found.outliers.rest, size), found.outliers);
			if (forms[c] === 'flow' || acceptsCurve(found.chain, level, curve, slopes[c]!)) shapes[c] = shape;
		});
		return { ...found, choices, shapes, reconsidered, reinstated, cost: restsCost(input, found.outliers.rest, noted) };
	};
	const interpretations = [interpretation(base, [], [])];
	// The match assumes a constant factor, so it may explain a change by grain left in tanks and by outliers. The other
	// interpretation is emptied tanks and all weights, with a form that changes.
	const setAside = setAsideWeights(match, time);
	const strained = records.combines.flatMap((_, c) => {
		const broad = match.unloadings.some((u, i) => u.combine === c && rest.u_kg[i]! > TANK.broad_kg && !noted.has(i));
		const more = setAside.some((w) => coversOnly(match, w, c));
		return coverage.owned[c] && !forms[c] && (broad || more || base.outliers.aside.length > 0) ? [c] : [];
	});
	for (const reconsidered of strained.length > 1 ? [...strained.map((c) => [c]), strained] : strained.map((c) => [c])) {
		const more = setAside.filter((w) => reconsidered.some((c) => coversOnly(match, w, c)));
		const emptied = reconsidered.reduce((r, c) => withoutRests(match, r, c, noted), rest);
		interpretations.push(
			interpretation(chainWithOutliers([...use, ...more], emptied), reconsidered, more, interpretations[0]),
		);
	}
	progress.step('factors', 0.6);
	const lateChanges = records.combines.flatMap((_, c) => {
		const ends = ownWeights(base.chain, c).flatMap((w) =>
			match.weighings[w]!.unloadings.map((u) => match.unloadings[u]!.end_s),
		);
		const late = coverage.owned[c] && !forms[c] && pinned.size === 0 ? lateChange(input, c, Math.max(...ends)) : null;
		return late ? [late] : [];
	});
	const judged: Play = { ...playOf(constants, rest, size), sigma: MONITOR.slow };
	const { hypotheses, gain } = hypothesesOf(
		interpretations,
		judged,
		forms.map((f) => f !== undefined),
		pinned.size === 0,
		lateChanges,
	);
	progress.step('factors', 0.8);
	return hypotheses.map(solved);

	function solved({ interpretation: from, shapes, cart, weight, late }: Hypothesis): Solved {
		const { chain: whole, outliers, choices, reconsidered, reinstated } = from;
		const bad = new Set(outliers.aside.map((a) => a.weighing));
		const chain = bad.size === 0 ? whole : chained(whole.order.filter((w) => !bad.has(w)));
		const moved = { ...cart, at: sameStep(whole, chain, cart.at) };
		const usually = playOf(shapes, outliers.rest, USUAL_SCATTER);
		const prior: Play['prior'] = (c, j) =>
			late && j === 1 && c === late.combine
				? { mean: rough[c]! * Math.expm1(late.log), u: rough[c]! * late.u, seam: true }
				: usually.prior(c, j);
		const last: Play = { ...usually, prior, last: true, cart: moved };
		const scatter = chain.order.length > 0 ? scatterOf(chain, last) : size;
		const play = { ...last, sigma: scatter.sigma, rests: scatter.rests, white: scatter.white };
		const at = places(chain, play);
		const tape = new Tape(at.n);
		run(chain, play, at, tape);
		const coefficients = shapes.reduce((s, f, c) => s + (coverage.any[c]! > 0 ? 1 + Number(f !== CONSTANT) : 0), 0);
		return {
			time,
			chain,
			play,
			at,
			tape,
			scatter,
			scatterDf: Math.max(0, chain.order.length - coefficients) + PRIOR_DF,
			shapes,
			choices,
			slopes,
			coverage: coverageOf(match, chain.order, jumps, combines),
			rough,
			flow,
			aside: outliers.aside,
			weight,
			gain,
			late,
			cart: moved,
			reinstated: reinstated.filter((w) => !bad.has(w)),
			emptiedAfterAll: match.unloadings.flatMap((u, i) =>
				reconsidered.includes(u.combine) && !noted.has(i) && rest.u_kg[i]! > TANK.broad_kg ? [i] : [],
			),
		};
	}
}

/** The step of another chain of the same field before which the change at step `at` falls. */
function sameStep(from: Chain, to: Chain, at: number): number {
	const step = from.steps[at];
	if (!step || step.do === 'in' || step.do === 'unload') return -1;
	return to.steps.findIndex((s) => (s.do === 'weigh' || s.do === 'check') && s.time_s >= step.time_s);
}

function withOutliers(play: Play, outliers: Outliers): Play {
	return { ...play, rest: outliers.rest, extraVariance: outliers.extraVariance };
}

/** The equation that the whole field's mean factor has the value set by hand. */
function pinRelation(time: Timeline, shape: Shape, combine: number, value: number): Relation {
	const mean = meanOf(time, shape, combine);
	return {
		at: mean.map((by, coefficient) => ({ combine, coefficient, by })),
		value,
		variance: 1e-12,
		cause: 'prior',
		df: Number.POSITIVE_INFINITY,
	};
}

function pinnedShape(chain: Chain, choice: Choice, form: Shape['form'], c: number, events: readonly number[]): Shape {
	if (form === choice.shape.form) return choice.shape;
	if (form === 'trend') return trendOf(chain, c) ?? CONSTANT;
	if (form !== 'step') return CONSTANT;
	const own = chain.time.segments.filter((s) => s.combine === c && s.pieces.length > 0);
	const middle = own[own.length >> 1]?.pieces[0]?.start_s;
	const moment = events[0] ?? middle;
	return moment === undefined ? CONSTANT : stepAt(moment);
}
