import { inTimeOrder, MONITOR, type Progress, TANK } from '../model/index.ts';
import { type Layout, PRIOR_DF, type Scatter, Tape, USUAL_SCATTER } from '../tank/index.ts';
import { levelPrior, meanOf, type Standing, seamRelations, standing } from './carry.ts';
import { type CartForm, scalesOf } from './chain/cart.ts';
import { type Chain, chainOf } from './chain/chain.ts';
import { type Play, places, type Relation, type Rests, restsOf, run, usual } from './chain/play.ts';
import { scatterOf } from './chain/scatter.ts';
import { type Timeline, timeline } from './chain/timeline.ts';
import { notedRests, only, restsCost, roughFactors, setAside, speaks, withoutRests } from './chain/weights.ts';
import { type Doubts, settle } from './doubt.ts';
import { type Choice, chooseForm, ownWeights, stepAt, trendOf } from './form/choose.ts';
import { type FlowSlope, flowShape, flowSlopes, outweighs } from './form/curve.ts';
import { CONSTANT, type Shape, smoothFlow } from './form/shape.ts';
import type { FactorInput } from './input.ts';
import { type TailStep, tailStep } from './tail.ts';
import { type Reading, type World, worldsOf } from './worlds.ts';

/** Everything the write-up of the factors draws on: the chain of all that was weighed, played to its end. */
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
	state: Standing;
	rough: number[];
	flow: Float64Array;
	aside: { weighing: number; reason: string }[];
	/** Its probability, and what is wrong with the cart's scale. */
	weight: number;
	cart: CartForm;
	/** A change after the last weight, as the seams tell it. */
	tail: TailStep | null;
	/** What the worlds gain over the alignment's own one factor, in −2 log-likelihood. */
	gain: number;
	/** Weights that the alignment had set aside, taken up again after all. */
	rescued: number[];
	/** Unloadings after which the alignment saw grain stay, where a change of the factor explains it better. */
	overturned: number[];
}

/**
 * The main line: cut the logs into fills, chain them to the weights, settle which weights and rests are odd, choose each
 * factor's form, estimate the errors' sizes, play the chain once more.
 *
 * @param pinned - factors set by hand, by combine: they stand, and the others are worked out around them
 * @returns the worlds that remain, the likeliest first
 */
export function solveWeights(input: FactorInput, progress: Progress, pinned: ReadonlyMap<number, number>): Solved[] {
	const { records, account, match, reference, plan, track, seams, jumps } = input;
	const combines = records.combines.length;
	const events = plan.events.filter((e) => ['calibrated', 'header', 'variety'].includes(e.kind));
	const of = (c: number) =>
		events.filter((e) => e.combine === null || e.combine === records.combines[c]).map((e) => e.time_s);
	const orders = records.combines.map((_, c) => inTimeOrder(records, c));
	const flow = smoothFlow(records, account, orders);
	const time = timeline(
		records,
		account,
		match,
		orders,
		flow,
		events.map((e) => e.time_s),
	);
	const use = match.weighings.map((_, w) => w).filter((w) => speaks(match, time, w));
	const rough = roughFactors(match, time, use, combines);
	const rest = restsOf(match, rough);
	const constants = records.combines.map(() => CONSTANT);
	const slopes = flowSlopes(records, account, track, seams);
	progress.step('factors', 0.2);

	const scales = scalesOf(match, reference, input.book, plan);
	const state = standing(match, use, jumps, combines, scales);
	const relationsFor = (shapes: readonly Shape[]): Relation[] => [
		...seamRelations({ account, track, seams, jumps }, time, records.time_s, flow, shapes, state, rough),
		...[...pinned].map(([c, k]) => pinRelation(time, shapes[c]!, c, k)),
	];
	const playOf = (shapes: readonly Shape[], rests: Rests, size: Scatter): Play => ({
		...usual(rough, shapes, rests, relationsFor(shapes)),
		prior: (c, j) => {
			if (j === 0) return { mean: rough[c]!, u: rough[c]! * levelPrior(state, c) };
			const curve = shapes[c]!.form === 'flow' && slopes[c]!.why === null;
			return curve
				? { mean: rough[c]! * slopes[c]!.slope, u: rough[c]! * slopes[c]!.u, seam: true }
				: { mean: 0, u: rough[c]! };
		},
		sigma: size.sigma,
		rests: size.rests,
	});
	const chained = (weights: readonly number[]) =>
		chainOf(match, time, scales, reference.ratio > 0 ? reference.ratio : 1, weights, rough);
	/** A chain of these weights with what is odd about them settled. */
	const settled = (weights: readonly number[], rests: Rests) => {
		const chain = chained(weights);
		return { chain, doubts: settle(chain, playOf(constants, rests, USUAL_SCATTER)) };
	};
	const base = settled(use, rest);
	const size = scatterOf(base.chain, withDoubts(playOf(constants, rest, USUAL_SCATTER), base.doubts));
	progress.step('factors', 0.4);

	const told = notedRests(input);
	const forms = records.combines.map((name) => plan.pins.factors?.[name]?.form);
	const reading = (
		found: ReturnType<typeof settled>,
		fresh: readonly number[],
		takenUp: readonly number[],
	): Reading => {
		const play = withDoubts(playOf(constants, found.doubts.rest, size), found.doubts);
		const choices = records.combines.map((_, c) => {
			if (!state.owned[c]) return null;
			const choice = chooseForm(found.chain, play, c, of(c));
			const form = forms[c];
			return form ? { ...choice, shape: pinnedShape(found.chain, choice, form, c, of(c)) } : choice;
		});
		const shapes = choices.map((c) => c?.shape ?? CONSTANT);
		records.combines.forEach((_, c) => {
			const open = shapes[c]!.form === 'constant' && !forms[c] && state.owned[c] && slopes[c]!.why === null;
			if (forms[c] !== 'flow' && !open) return;
			const shape = flowShape(account, flow, time, c);
			const curved = shapes.map((s, k) => (k === c ? shape : s));
			const level = { ...play, shapes };
			const curve = withDoubts(playOf(curved, found.doubts.rest, size), found.doubts);
			if (forms[c] === 'flow' || outweighs(found.chain, level, curve, slopes[c]!)) shapes[c] = shape;
		});
		return { ...found, choices, shapes, fresh, takenUp, cost: restsCost(input, found.doubts.rest, told) };
	};
	const readings = [reading(base, [], [])];
	// The alignment looks for one factor: rests that were never there, and weights set aside, may be what it took a change
	// for. All weights and emptied tanks, with a form, are another reading.
	const again = setAside(match, time);
	const strained = records.combines.flatMap((_, c) => {
		const broad = match.unloadings.some((u, i) => u.combine === c && rest.u_kg[i]! > TANK.broad_kg && !told.has(i));
		const more = again.some((w) => only(match, w, c));
		return state.owned[c] && !forms[c] && (broad || more || base.doubts.aside.length > 0) ? [c] : [];
	});
	for (const fresh of strained.length > 1 ? [...strained.map((c) => [c]), strained] : strained.map((c) => [c])) {
		const more = again.filter((w) => fresh.some((c) => only(match, w, c)));
		const emptied = fresh.reduce((r, c) => withoutRests(match, r, c, told), rest);
		readings.push(reading(settled([...use, ...more], emptied), fresh, more));
	}
	progress.step('factors', 0.6);
	const tails = records.combines.flatMap((_, c) => {
		const ends = ownWeights(base.chain, c).flatMap((w) =>
			match.weighings[w]!.unloadings.map((u) => match.unloadings[u]!.end_s),
		);
		const tail = state.owned[c] && !forms[c] && pinned.size === 0 ? tailStep(input, c, Math.max(...ends)) : null;
		return tail ? [tail] : [];
	});
	const judged: Play = { ...playOf(constants, rest, size), sigma: MONITOR.slow };
	const { worlds, gain } = worldsOf(
		readings,
		judged,
		forms.map((f) => f !== undefined),
		pinned.size === 0,
		tails,
	);
	progress.step('factors', 0.8);
	return worlds.map((world) => played(world));

	function played({ reading: from, shapes, cart, weight, tail }: World): Solved {
		const { chain: whole, doubts, choices, fresh, takenUp } = from;
		const bad = new Set(doubts.aside.map((a) => a.weighing));
		const chain = bad.size === 0 ? whole : chained(whole.order.filter((w) => !bad.has(w)));
		const moved = { ...cart, at: sameStep(whole, chain, cart.at) };
		const usually = playOf(shapes, doubts.rest, USUAL_SCATTER);
		const prior: Play['prior'] = (c, j) =>
			tail && j === 1 && c === tail.combine
				? { mean: rough[c]! * Math.expm1(tail.log), u: rough[c]! * tail.u, seam: true }
				: usually.prior(c, j);
		const last: Play = { ...usually, prior, last: true, cart: moved };
		const scatter = chain.order.length > 0 ? scatterOf(chain, last) : size;
		const play = { ...last, sigma: scatter.sigma, rests: scatter.rests, white: scatter.white };
		const at = places(chain, play);
		const tape = new Tape(at.n);
		run(chain, play, at, tape);
		const coefficients = shapes.reduce((s, f, c) => s + (state.any[c]! > 0 ? 1 + Number(f !== CONSTANT) : 0), 0);
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
			state: standing(match, chain.order, jumps, combines, scales),
			rough,
			flow,
			aside: doubts.aside,
			weight,
			gain,
			tail,
			cart: moved,
			rescued: takenUp.filter((w) => !bad.has(w)),
			overturned: match.unloadings.flatMap((u, i) =>
				fresh.includes(u.combine) && !told.has(i) && rest.u_kg[i]! > TANK.broad_kg ? [i] : [],
			),
		};
	}
}

/** The step of another chain of the same field before which the same change falls. */
function sameStep(from: Chain, to: Chain, at: number): number {
	const step = from.steps[at];
	if (!step || step.do === 'in' || step.do === 'unload') return -1;
	return to.steps.findIndex((s) => (s.do === 'weigh' || s.do === 'check') && s.time_s >= step.time_s);
}

function withDoubts(play: Play, doubts: Doubts): Play {
	return { ...play, rest: doubts.rest, doubt: doubts.doubt };
}

/** The whole field's mean factor is what was set by hand. */
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
