import type { Belief, Cause } from './belief.ts';
import { pause, type Slow, stretch } from './slow.ts';

/**
 * Which quantity of a belief stands where: for each combine the coefficients of its factor, the monitor's slow error, the
 * grain in its tank and the grain that it brought in; for all the relative error of the cart's ratio (and how that changed),
 * a working quantity, and places for what is open for a while only (grain on the way to a scale, gross readings).
 */
export interface Layout {
	combines: number;
	/** Coefficients of each combine, and the place of its first. */
	sizes: readonly number[];
	factor: readonly number[];
	slow: readonly number[];
	level: readonly number[];
	/** Reference mass brought in since the start, kg; −1 where nobody asks. */
	brought: readonly number[];
	/** Coefficients of the cart's relative error: the first is the ratio's. */
	cart: readonly number[];
	work: number;
	free: readonly number[];
	n: number;
}

/**
 * @param sizes - number of coefficients of each combine's factor
 * @param places - how many weights and gross readings may be open at once
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
	const work = take();
	const free = Array.from({ length: places }, take);
	return { combines: sizes.length, sizes, factor, slow, level, brought: sums, cart: carts, work, free, n: at };
}

/** Grain that came into a tank while the factor's form, as its coefficients see it, stood still. */
export interface Inflow {
	combine: number;
	/** While grain came in, seconds. */
	seconds: number;
	/** Since this combine's grain last came in. */
	paused_s: number;
	/** Account mass × basis, one a coefficient of the factor, kg. The first is the account mass itself. */
	basis_kg: readonly number[];
	/** Rough factor, by which the slow error is turned into mass. */
	rough: number;
	/** The monitor's white error over this stretch, relative standard deviation. */
	white?: number;
}

/**
 * Lets grain flow into a tank: level and grain brought in grow by factor × account mass × (1 + slow error).
 *
 * @param inTank - false: it was brought in, and belongs to none of the unloadings that are looked at
 */
export function flowIn(b: Belief, at: Layout, inflow: Inflow, slow: Slow, inTank = true): void {
	const { combine: c, basis_kg, rough } = inflow;
	const kg = rough * basis_kg[0]!;
	pause(b, at.slow[c]!, inflow.paused_s, slow);
	const white = ((inflow.white ?? 0) * kg) ** 2;
	const slots = basis_kg.map((_, j) => at.factor[c]! + j);
	if (inflow.seconds > 0) stretch(b, at.slow[c]!, at.work, inflow.seconds, slow);
	else b.mix(at.work, 0, [at.slow[c]!], ONE);
	// The stretch's mass as a quantity of its own, since both sums take it in.
	b.mix(at.work, kg, slots, basis_kg, 0, white, 'fill');
	if (inTank) b.mix(at.level[c]!, 1, [at.work], ONE);
	if (at.brought[c]! >= 0) b.mix(at.brought[c]!, 1, [at.work], ONE);
}

const ONE = [1];

/**
 * Unloads a tank: all that is in it but a rest goes to the scale (places `onto`, none = to nobody's scale), and the tank then
 * holds the rest.
 *
 * @param rest_kg - what stays, and its standard uncertainty
 * @param key - marks the rest under this number (see `Tape.mark`)
 */
export function unload(
	b: Belief,
	at: Layout,
	combine: number,
	onto: readonly number[],
	rest_kg: number,
	u_rest_kg: number,
	key = -1,
): void {
	const level = at.level[combine]!;
	for (const place of onto) b.mix(place, 1, [level], ONE);
	b.set(level, rest_kg, u_rest_kg * u_rest_kg, 'rest');
	if (key >= 0) b.mark(level, key);
	for (const place of onto) b.mix(place, 1, [level], LESS);
}

const LESS = [-1];

/** A weight: a difference of two gross readings, or a reading of its own. */
export interface Weight {
	/** Reference mass, kg. */
	kg: number;
	/** Variance of its own error, kg². */
	variance: number;
	/** Places of the errors of its two gross readings; −1 = in `variance`. */
	before: number;
	after: number;
	/** How it hangs on the cart's coefficients, its own weight for each of its relative errors; empty where its scale is another. */
	cart_kg: readonly number[];
}

/**
 * Weighs what lies on a scale (place `on`): the grain itself, more by the reading after and less by the reading before, and
 * off by the cart's relative error.
 *
 * @returns log of the density with which that weight was expected
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
	// A relative error is of the grain that is expected, not of the weight as read: its own noise stands on both sides of the
	// equation then, and draws the scale's error away from zero with every weight.
	const grain = weight.kg > 0 ? Math.max(0, b.x[on]!) / weight.kg : 1;
	for (let j = 0; j < weight.cart_kg.length; j++) {
		if (weight.cart_kg[j] === 0) continue;
		from.push(at.cart[j]!);
		by.push(-grain * weight.cart_kg[j]!);
	}
	return b.observe(from, by, weight.kg, weight.variance, 'weight');
}

/** Learns what a tank holds: a note, say. Returns the log density. */
export function learnLevel(b: Belief, at: Layout, combine: number, kg: number, u_kg: number): number {
	return b.observe([at.level[combine]!], [1], kg, u_kg * u_kg, 'rest');
}

/**
 * Learns from a seam that the log factor of combine `b` less that of `a` is `log`, with variance u²: about the rough factor
 * of a, k_b = e^log k_a. Returns the log density of the log difference.
 */
export function learnRatio(
	belief: Belief,
	at: Layout,
	a: number,
	b: number,
	log: number,
	u: number,
	rough = 1,
	cause: Cause = 'seam',
): number {
	const ratio = Math.exp(log);
	const scale = rough * ratio;
	const density = belief.observe([at.factor[b]!, at.factor[a]!], [1, -ratio], 0, (scale * u) ** 2, cause);
	return density + Math.log(scale);
}
