import { CART } from '../model/index.ts';
import { type Certified, certified, ratioOfSums } from '../stats/index.ts';

/** One truckload weighed by both scales, wet. */
export interface WeighedTwice {
	cart_kg: number;
	ticket_kg: number;
}

/** The ratio of a cart's scale to certified weights: ticket weight / cart weight, a ratio of sums. */
export interface CartRatio extends Certified {
	/** Number of truckloads. */
	n: number;
}

/** Relative uncertainty assumed with one truckload, which shows no scatter between loads (common practice). */
export const SINGLE_LOAD_U_REL = CART.load_rel;

/**
 * The cart's scale against certified tickets: R = Σ ticket / Σ cart, its variance by the ratio estimator, its interval
 * by Student's t. The certified scale's tolerance is added as rectangular limits; degrees of freedom of the sum are
 * Welch and Satterthwaite's.
 *
 * Sources: Cochran, Sampling Techniques, 3rd ed., ch. 6; NIST Handbook 44, 2.20, class III L; JCGM 100:2008, G.4.
 *
 * @example
 * ```js
 * const { ratio, interval } = cartRatio([
 *   { cart_kg: 24100, ticket_kg: 24390 },
 *   { cart_kg: 25850, ticket_kg: 26120 },
 *   { cart_kg: 23300, ticket_kg: 23560 },
 * ]);
 * ratio.toFixed(4); // → '1.0112'
 * ```
 */
export function cartRatio(loads: readonly WeighedTwice[]): CartRatio {
	const n = loads.length;
	if (n === 0) throw new RangeError('cartRatio: expected at least one truckload, found none');
	for (const [i, l] of loads.entries()) {
		if (l.cart_kg > 0 && l.ticket_kg > 0) continue;
		throw new RangeError(`cartRatio: load ${i}: expected two weights above 0, found ${l.cart_kg} and ${l.ticket_kg}`);
	}
	const { ratio, u } = ratioOfSums(
		loads.map((l) => l.ticket_kg),
		loads.map((l) => l.cart_kg),
	);
	return { n, ...certified(ratio, n >= 2 ? u / ratio : SINGLE_LOAD_U_REL, n) };
}
