import { CART, type LoadBook, type Reference } from '../../model/index.ts';
import { type Chain, likelihood, type Play, timeOf } from '../chain.ts';
import { CONSTANT, type Shape } from './shape.ts';

/** A change of the cart's scale, common to all that it weighs. */
export interface CartStep {
	/** When, in the logs' time, seconds. */
	time_s: number;
	/** Relative error of the reference masses before and after: true / reference − 1, and standard uncertainty. */
	before: { mean: number; u: number };
	/** What it changed by: after − before. */
	change: number;
	/** Truck loads tell which side is right. */
	told: boolean;
	/** Index of the combines whose own steps it stands for. */
	instead: number[];
}

/** Two steps of one cause lie no further apart, seconds: about two fills of either combine. */
const TOGETHER_S = 2400;
/** And are as large, within this. */
const ALIKE = 0.03;
/**
 * One cause for two changes is the simpler: it may fit worse by this much in −2 log-likelihood. Two monitors changed at
 * once by the same share would be chance.
 */
const SIMPLER = 4;

/**
 * Where the factors of two combines or more step together by the same share, the scale that weighed them is the likelier
 * culprit: one step of the cart, with constant factors, is held against a step of each. Truck loads before and after it
 * say which side is right; without them either may be, and the level is known only to half the step.
 */
export function cartStep(
	chain: Chain,
	play: Play,
	shapes: readonly Shape[],
	steps: readonly { combine: number; time_s: number; change: number }[],
	reference: Reference,
	book: LoadBook,
	clock_s: number,
): CartStep | null {
	if (steps.length < 2) return null;
	const middle = steps.reduce((s, v) => s + v.time_s, 0) / steps.length;
	const mean = steps.reduce((s, v) => s + v.change, 0) / steps.length;
	if (steps.some((s) => Math.abs(s.time_s - middle) > TOGETHER_S || Math.abs(s.change - mean) > ALIKE)) return null;
	const without = shapes.map((s, c) => (steps.some((v) => v.combine === c) ? CONSTANT : s));
	const own = -2 * likelihood(chain, { ...play, shapes });
	let best = { time_s: Number.NaN, cost: Number.POSITIVE_INFINITY };
	// The scale changes between two of its weights.
	const times = chain.order.map((w) => timeOf(chain, w)).filter((t) => Math.abs(t - middle) < TOGETHER_S);
	for (const moment of times) {
		const cost = -2 * likelihood(chain, { ...play, shapes: without, cartStep_s: moment });
		if (cost < best.cost) best = { time_s: moment, cost };
	}
	if (!(best.cost < own + SIMPLER)) return null;
	// Constant monitors: reference masses step by as much as the factors seemed to, so that the cart's error steps back.
	const change = 1 / (1 + mean) - 1;
	const sides = loadsBySide(reference, book, best.time_s - clock_s);
	const [early, late] = sides.map((loads) => errorOf(reference, loads));
	const told = early !== null || late !== null;
	const before =
		early ?? (late ? { mean: late!.mean - change, u: late!.u } : { mean: -change / 2, u: Math.abs(change) / 2 });
	return { time_s: best.time_s, before, change, told, instead: steps.map((s) => s.combine) };
}

/** Truck loads offloaded before and after a moment of the cart's clock. */
function loadsBySide(reference: Reference, book: LoadBook, moment: number): [string[], string[]] {
	const sides: [string[], string[]] = [[], []];
	for (const load of reference.loads) {
		if (!load.used) continue;
		const times = book.offloads.filter((o) => o.truckLoad === load.truckLoad).map((o) => o.time_s);
		if (times.length === 0 || !times.every(Number.isFinite)) continue;
		if (times.every((t) => t < moment)) sides[0].push(load.truckLoad);
		else if (times.every((t) => t > moment)) sides[1].push(load.truckLoad);
	}
	return sides;
}

/** True over reference mass, less 1, of some truck loads. */
function errorOf(reference: Reference, names: readonly string[]): { mean: number; u: number } | null {
	const loads = reference.loads.filter((l) => names.includes(l.truckLoad));
	if (loads.length === 0) return null;
	const ticket = loads.reduce((s, l) => s + l.ticket_kg, 0);
	const cart = loads.reduce((s, l) => s + l.cart_kg, 0);
	return { mean: ticket / (cart * reference.ratio) - 1, u: CART.load_rel / Math.sqrt(loads.length) };
}
