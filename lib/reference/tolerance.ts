import { CART } from '../model/index.ts';

/**
 * Maintenance tolerance of a class III L scale (vehicle scales), in scale divisions, for a load of so many
 * divisions: one division to 500, then one more for every further 500 or part of it.
 *
 * Source: NIST Handbook 44, section 2.20, Table 6 (class III L: 0–500 d: 1 d; 501–1,000 d: 2 d; add 1 d for each
 * additional 500 d or fraction thereof).
 *
 * @example
 * ```js
 * toleranceDivisions(4000); // → 8
 * ```
 */
export function toleranceDivisions(divisions: number): number {
	return Math.max(1, Math.ceil(divisions / 500));
}

/**
 * How far a certified truck scale may be off over the load it weighs, relative: what one division in 500 comes to.
 * It bounds an error that all tickets of that scale share, as rectangular limits.
 */
export const CERTIFIED_LIMIT_REL = CART.certified_rel;
