import type { Belief } from './belief.ts';
import type { Course } from './slow.ts';

/**
 * Positions of the quantities in a belief. For each combine: coefficients of its factor, the monitor's slow error, grain in
 * the tank, and grain brought in. For all: the relative error of the cart's ratio (and its changes), and places for temporary quantities (grain on the way to a scale, gross readings).
 */
export interface Layout {
	combines: number;
	/** Number of coefficients of each combine, and the position of its first. */
	sizes: readonly number[];
	factor: readonly number[];
	slow: readonly number[];
	level: readonly number[];
	/** Position of the reference mass brought in since the start, kg; −1 where not wanted. */
	brought: readonly number[];
	/** Coefficients of the cart's relative error: the first is the ratio's. */
	cart: readonly number[];
	free: readonly number[];
	/** For each combine: what inflowing grain comes from, and what it adds to, in the tank and beside it. */
	inflow: readonly { from: readonly number[]; tank: readonly number[]; field: readonly number[] }[];
	n: number;
}

/**
 * @param sizes - number of coefficients of each combine's factor
 * @param places - how many weights and gross readings may be pending at once
 * @param cart - number of coefficients of the cart's error
 */
export function layout(sizes: readonly number[], places = 3, cart = 1, brought = true): Layout {
	let at = 0;
	const take = () => at++;
	const factor = sizes.map((size) => {
		const first = at;
		at += size;
		return first;
	});
	const slow = sizes.map(take);
	const level = sizes.map(take);
	const sums = sizes.map(() => (brought ? take() : -1));
	const carts = Array.from({ length: cart }, take);
	const free = Array.from({ length: places }, take);
	const inflow = sizes.map((size, c) => {
		const field = brought ? [sums[c]!] : [];
		const from = [slow[c]!, ...Array.from({ length: size }, (_, j) => factor[c]! + j)];
		return { from, tank: [level[c]!, ...field], field };
	});
	return { combines: sizes.length, sizes, factor, slow, level, brought: sums, cart: carts, free, inflow, n: at };
}

/** Grain that came into a tank over a stretch in which the factor's basis functions are constant. */
export interface Inflow {
	combine: number;
	/** Of the slow error since this combine's grain last came in, and while it did. */
	course: Course;
	/** Accounted mass × basis function, one per coefficient of the factor, kg. The first is the accounted mass itself. */
	basis_kg: readonly number[];
	/** Rough factor, which converts the slow error into mass. */
	rough: number;
	/** The monitor's white error over this stretch, relative standard deviation. */
	white?: number;
	/** False for grain that belongs to none of the unloadings considered. */
	inTank?: boolean;
	/** Places of weights that count all grain as it comes in. */
	totals?: readonly number[];
}

/**
 * Adds inflowing grain to a tank: level and grain brought in grow by factor × accounted mass × (1 + slow error).
 *
 * @param sigma - standard deviation of the slow error, relative
 */
export function flowIn(b: Belief, at: Layout, inflow: Inflow, sigma: number): void {
	const { combine: c, course, basis_kg, rough, white = 0, inTank = true, totals = NONE } = inflow;
	const kg = rough * basis_kg[0]!;
	const s2 = sigma * sigma;
	const { from, tank, field } = at.inflow[c]!;
	const into = inTank ? tank : field;
	b.grow({
		from,
		by: [kg * course.share, ...basis_kg],
		into: totals.length > 0 ? [...into, ...totals] : into,
		slot: at.slow[c]!,
		keep: course.keep,
		end: s2 * course.end,
		mean: s2 * kg * kg * course.mean,
		both: s2 * kg * course.both,
		own: (white * kg) ** 2,
	});
}

/**
 * Unloads a tank: all but a rest goes to the scale (places `onto`; none = not weighed), and the tank then holds the rest.
 *
 * @param rest - grain that stays, with its standard uncertainty; `key` is the number under which it is marked (see `Tape.mark`)
 */
export function unload(
	b: Belief,
	at: Layout,
	combine: number,
	onto: readonly number[],
	{ kg, u_kg, key = -1 }: { kg: number; u_kg: number; key?: number },
): void {
	const level = at.level[combine]!;
	for (const place of onto) b.mix(place, 1, [level], ONE);
	b.set(level, kg, u_kg * u_kg, 'rest');
	if (key >= 0) b.mark(level, key);
	for (const place of onto) b.mix(place, 1, [level], LESS);
}

const NONE: readonly number[] = [];
const ONE = [1];
const LESS = [-1];

/** A weight: the difference of two gross readings, or a single reading. */
export interface Weight {
	/** Reference mass, kg. */
	kg: number;
	/** Variance of its own error, kg². */
	variance: number;
	/** Places of the errors of its two gross readings; −1 = included in `variance`. */
	before: number;
	after: number;
	/** Sensitivity to each of the cart's coefficients, kg per relative error; empty for another scale. */
	cart_kg: readonly number[];
}

/**
 * Observes the weight of the grain on a scale (place `on`): the grain, plus the error of the reading after, minus that of
 * the reading before, plus the cart's relative error.
 *
 * @returns log density of that weight
 */
export function weigh(b: Belief, at: Layout, on: number, weight: Weight): number {
	const from = [on];
	const by = [1];
	if (weight.before >= 0) {
		from.push(weight.before);
		by.push(-1);
	}
	if (weight.after >= 0) {
		from.push(weight.after);
		by.push(1);
	}
	// Apply the relative error to the expected grain, not to the weight as read: the weight's noise would otherwise be on
	// both sides of the equation and bias the scale's error with every weight.
	const grain = weight.kg > 0 ? Math.max(0, b.x[on]!) / weight.kg : 1;
	for (let j = 0; j < weight.cart_kg.length; j++) {
		if (weight.cart_kg[j] === 0) continue;
		from.push(at.cart[j]!);
		by.push(-grain * weight.cart_kg[j]!);
	}
	return b.observe(from, by, weight.kg, weight.variance, 'weight');
}

/** Observes the level of a tank, as from a note. Returns the log density. */
export function learnLevel(b: Belief, at: Layout, combine: number, kg: number, u_kg: number): number {
	return b.observe([at.level[combine]!], [1], kg, u_kg * u_kg, 'rest');
}
