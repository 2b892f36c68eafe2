import { inTimeOrder, type Match, type Progress, TANK } from '../model/index.ts';
import { median } from '../stats/index.ts';
import { type Layout, PRIOR_DF, type Scatter, Tape, USUAL_SCATTER } from '../tank/index.ts';
import { levelPrior, meanOf, type Standing, seamRelations, standing } from './carry.ts';
import { type Chain, chainOf, type Play, places, type Relation, type Rests, restsOf, run, usual } from './chain.ts';
import { type Doubts, settle } from './doubt.ts';
import { type CartStep, cartStep } from './form/cart.ts';
import { type Choice, chooseForm, stepAt, trendOf } from './form/choose.ts';
import { type FlowSlope, flowShape, flowSlopes, outweighs } from './form/curve.ts';
import { CONSTANT, type Shape, smoothFlow } from './form/shape.ts';
import type { FactorInput } from './input.ts';
import { scatterOf } from './scatter.ts';
import { type Timeline, timeline } from './timeline.ts';

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
	/** Weights that the alignment had set aside, taken up again after all. */
	rescued: number[];
	/** A change of the cart's scale, where it explains what the factors seemed to do together. */
	cart: CartStep | null;
	/** Unloadings after which the alignment saw grain stay, where a change of the factor explains it better. */
	overturned: number[];
}

/**
 * The main line: cut the logs into fills, chain them to the weights, settle which weights and rests are odd, choose each
 * factor's form, estimate the errors' sizes, play the chain once more.
 *
 * @param pinned - factors set by hand, by combine: they stand, and the others are worked out around them
 */
export function solveWeights(input: FactorInput, progress: Progress, pinned: ReadonlyMap<number, number>): Solved {
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

	const state = standing(match, use, jumps, combines);
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
	/** A chain of these weights with what is odd about them settled. */
	const settled = (weights: readonly number[], rests: Rests) => {
		const chain = chainOf(match, time, reference, weights, rough);
		return { chain, doubts: settle(chain, playOf(constants, rests, USUAL_SCATTER)) };
	};
	const base = settled(use, rest);
	const size = scatterOf(base.chain, withDoubts(playOf(constants, rest, USUAL_SCATTER), base.doubts));
	progress.step('factors', 0.4);

	const again = setAside(match, time);
	const told = notedRests(input);
	const emptied = new Set<number>();
	const takenUp: number[] = [];
	const choices = records.combines.map((name, c) => {
		progress.step('factors', 0.4 + (0.4 * c) / combines);
		if (!state.owned[c]) return null;
		const choose = (found: ReturnType<typeof settled>) => {
			const play = withDoubts(playOf(constants, found.doubts.rest, size), found.doubts);
			const choice = chooseForm(found.chain, play, c, of(c));
			const cost = ASIDE_COST * found.doubts.aside.length;
			return { choice, constant: choice.deviance.constant + cost, changed: choice.deviance.form + cost };
		};
		const plainly = choose(base);
		const form = plan.pins.factors?.[name]?.form;
		if (form) return { ...plainly.choice, shape: pinnedShape(base.chain, plainly.choice, form, c, of(c)) };
		// The alignment looks for one factor: rests that were never there, and weights set aside, may be what it took a change
		// for. All weights and emptied tanks, with a form, must then be the likelier by far.
		const more = again.filter((w) => only(match, w, c));
		const broad = match.unloadings.some((u, i) => u.combine === c && rest.u_kg[i]! > TANK.broad_kg && !told.has(i));
		if (more.length === 0 && !broad && base.doubts.aside.length === 0) return plainly.choice;
		const empty = choose(settled([...use, ...more], withoutRests(match, rest, c, told)));
		const given = more.length > 0 ? choose(settled([...use, ...more], rest)) : plainly;
		const level = Math.min(given.constant, plainly.constant + ASIDE_COST * more.length);
		const likelier = (o: typeof empty, than: number) => isChange(o.choice.shape) && than - o.changed > FAR_LIKELIER;
		if (likelier(empty, isChange(given.choice.shape) ? given.changed : level)) {
			emptied.add(c);
			takenUp.push(...more);
			return empty.choice;
		}
		if (!isChange(plainly.choice.shape) && likelier(given, level)) {
			takenUp.push(...more);
			return given.choice;
		}
		return plainly.choice;
	});
	let found = base;
	if (emptied.size > 0 || takenUp.length > 0) {
		let rests = rest;
		for (const c of emptied) rests = withoutRests(match, rests, c, told);
		found = settled([...use, ...takenUp], rests);
	}
	const shapes = choices.map((c) => c?.shape ?? CONSTANT);
	const seemed = withDoubts(playOf(shapes, found.doubts.rest, size), found.doubts);
	const cart = cartStep(
		found.chain,
		seemed,
		shapes,
		stepsOf(found.chain, seemed, choices),
		reference,
		input.book,
		match.clock.offset_s || 0,
	);
	for (const c of cart?.instead ?? []) shapes[c] = CONSTANT;
	records.combines.forEach((name, c) => {
		const pin = plan.pins.factors?.[name]?.form;
		if (pin === 'flow' || (shapes[c]!.form === 'constant' && !pin && state.owned[c] && slopes[c]!.why === null)) {
			const shape = flowShape(account, flow, time, c);
			const curved = shapes.map((s, k) => (k === c ? shape : s));
			const level = withDoubts(playOf(shapes, found.doubts.rest, size), found.doubts);
			const curve = withDoubts(playOf(curved, found.doubts.rest, size), found.doubts);
			if (pin === 'flow' || outweighs(found.chain, level, curve, slopes[c]!)) shapes[c] = shape;
		}
	});

	const bad = new Set(found.doubts.aside.map((a) => a.weighing));
	const chain = chainOf(
		match,
		time,
		reference,
		found.chain.order.filter((w) => !bad.has(w)),
		rough,
	);
	const last: Play = {
		...playOf(shapes, found.doubts.rest, USUAL_SCATTER),
		hazard: true,
		...(cart ? { cartStep_s: cart.time_s, cart: cart.before } : {}),
	};
	const scatter = chain.order.length > 0 ? scatterOf(chain, last) : size;
	const play = { ...last, sigma: scatter.sigma, rests: scatter.rests, white: scatter.white };
	const at = places(chain, play);
	const tape = new Tape(at.n);
	run(chain, play, at, tape);
	progress.step('factors', 0.8);
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
		state: standing(match, chain.order, jumps, combines),
		rough,
		flow,
		aside: found.doubts.aside,
		cart,
		rescued: takenUp.filter((w) => !bad.has(w)),
		overturned: match.unloadings.flatMap((u, i) =>
			emptied.has(u.combine) && !told.has(i) && rest.u_kg[i]! > TANK.broad_kg ? [i] : [],
		),
	};
}

/** A change that takes up what the alignment decided must fit better by this much in −2 log-likelihood. */
const FAR_LIKELIER = 12;
/** What a weight set aside costs, in −2 log-likelihood: one in 700 is nonsense, and may then be anything up to 15 t. */
const ASIDE_COST = 30;

function withDoubts(play: Play, doubts: Doubts): Play {
	return { ...play, rest: doubts.rest, doubt: doubts.doubt };
}

/** Steps that were found, not noted: of each combine when, and by what share. */
function stepsOf(chain: Chain, play: Play, choices: readonly (Choice | null)[]) {
	const found = choices.flatMap((c, combine) => (c?.shape.form === 'step' && !c.noted ? [combine] : []));
	if (found.length < 2) return [];
	const at = places(chain, play);
	const tape = new Tape(at.n);
	run(chain, play, at, tape);
	return found.map((combine) => {
		const first = at.factor[combine]!;
		return { combine, time_s: play.shapes[combine]!.changes_s[0]!, change: tape.x[first + 1]! / tape.x[first]! };
	});
}

function isChange(shape: Shape): boolean {
	return shape.form === 'step' || shape.form === 'trend';
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

/** Unloadings of which the book says that the tank was not emptied. */
function notedRests({ match, book }: FactorInput): Set<number> {
	return new Set(match.unloadings.flatMap((u, i) => (book.dumps[u.dump]?.emptied === 0 ? [i] : [])));
}

/** Rests with a combine's tank taken as emptied wherever nobody noted that grain stayed. */
function withoutRests(match: Match, rest: Rests, combine: number, told: ReadonlySet<number>): Rests {
	const out = { kg: rest.kg.slice(), u_kg: rest.u_kg.slice() };
	const clear = (i: number) => {
		out.kg[i] = 0;
		out.u_kg[i] = Math.hypot(TANK.clinging_kg, match.unloadings[i]?.u_account_kg || 0);
	};
	const heaviest = Math.max(
		0,
		...match.weighings
			.filter((w) => w.unloadings.some((u) => match.unloadings[u]!.combine === combine))
			.map((w) => w.reference_kg || 0),
	);
	const believed = new Set(match.weighings.flatMap((w) => (w.used ? w.unloadings : [])));
	match.unloadings.forEach((u, i) => {
		if (u.combine !== combine) return;
		if (out.u_kg[i]! > TANK.broad_kg && !told.has(i)) clear(i);
		// It was noted that grain stayed, and the alignment, which set the weight aside, did not reckon how much.
		else if (told.has(i) && !believed.has(i) && !(out.u_kg[i]! > TANK.broad_kg)) {
			out.kg[i] = TANK.restShare * heaviest;
			out.u_kg[i] = TANK.restShare * heaviest;
		}
	});
	clear(match.unloadings.length + combine);
	return out;
}

function only(match: Match, w: number, combine: number): boolean {
	const { unloadings } = match.weighings[w]!;
	return unloadings.length > 0 && unloadings.every((u) => match.unloadings[u]!.combine === combine);
}

/**
 * Weights that the alignment set aside because they did not suit one constant factor: a drift or a change is what such a
 * weight may tell of. Repeats, mixed weights and weights without an unloading of their own stay aside.
 */
function setAside(match: Match, time: Timeline): number[] {
	const used = new Set(match.weighings.flatMap((w) => (w.used ? w.unloadings : [])));
	return match.weighings.flatMap((w, i) => {
		const alone = !w.used && w.kind === 'dump' && w.unloadings.length === 1 && !used.has(w.unloadings[0]!);
		return alone && weighs(match, time, i) ? [i] : [];
	});
}

/** A weighing that covers grain of this log. */
function weighs(match: Match, time: Timeline, w: number): boolean {
	const weighing = match.weighings[w]!;
	if (!(weighing.reference_kg > 0)) return false;
	if (weighing.kind === 'total') return time.account_kg.some((m) => m > 0);
	return weighing.unloadings.some((u) => (time.segments[time.ofUnloading[u]!]?.account_kg ?? 0) > 0);
}

function speaks(match: Match, time: Timeline, w: number): boolean {
	return match.weighings[w]!.used && weighs(match, time, w);
}

/** Median ratios, to turn account mass into reference mass in the errors. */
function roughFactors(match: Match, time: Timeline, use: readonly number[], combines: number): number[] {
	const ratios = Array.from({ length: combines }, () => [] as number[]);
	for (const w of use) {
		const weighing = match.weighings[w]!;
		if (weighing.kind === 'total') continue;
		const parts = new Set(weighing.unloadings.map((u) => match.unloadings[u]!.combine));
		const mass = weighing.unloadings.reduce((s, u) => s + (time.segments[time.ofUnloading[u]!]?.account_kg ?? 0), 0);
		if (parts.size === 1 && mass > 0) ratios[[...parts][0]!]!.push(weighing.reference_kg / mass);
	}
	return ratios.map((r, c) => {
		if (r.length > 0) return median(r);
		const from = match.factors[c];
		return from !== undefined && Number.isFinite(from) && from > 0 ? from : 1;
	});
}
