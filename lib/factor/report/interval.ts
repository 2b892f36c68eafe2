import { MONITOR, type Reference } from '../../model/index.ts';
import {
	meanVariance,
	spreadOf as spread,
	type Shares as TankShares,
	sharesOf as tankShares,
} from '../../tank/index.ts';
import type { Solved } from '../solve-weights.ts';

/** Variances of a factor by source, in units of the factor squared; `cart` is a sensitivity instead. */
export interface Shares extends TankShares {
	/** Change of the factor per unit of the cart's ratio. */
	cart: number;
	seamDf: number;
	/** From grain that came through while the log held nothing. */
	unrecorded: number;
}

/** Variance of a linear combination f of the state by source; `u_unrecorded` is in its units. */
export function sharesOf(solved: Solved, f: Float64Array, u_unrecorded: number): Shares {
	const shares = tankShares(solved.tape, solved.scatter, f);
	const { cart } = shares;
	const u = solved.chain.scales.u_ratio;
	const slip = solved.cart.kind !== 'none';
	return {
		...shares,
		// With a step or a drift of the scale, its variance is not that of the cart ratio.
		scale: shares.scale + (slip ? cart : 0),
		cart: u > 0 && !slip ? Math.sqrt(cart) / u : 0,
		seamDf: Math.min(...solved.play.relations.filter((r) => r.cause === 'seam').map((r) => r.df)),
		unrecorded: u_unrecorded ** 2,
	};
}

/** Variance of a fill's mean slow error where the slow error has variance 1, averaged over a combine's fills. */
export function fillShare(solved: Solved, combine: number): number {
	const own = solved.time.segments.filter((s) => s.combine === combine && s.account_kg > 0);
	if (own.length === 0) return 1;
	const seconds = own.map((s) => s.pieces.reduce((sum, p) => sum + Math.max(0, p.end_s - p.start_s || 0), 0));
	return seconds.reduce((sum, t) => sum + meanVariance(t, MONITOR.slow_s), 0) / own.length;
}

/** The cart scale's relative uncertainty: standard uncertainty, degrees of freedom, and half-width of the rectangular limits. */
export function referenceParts(reference: Reference): { u: number; df: number; half: number } {
	const half = reference.limit_rel;
	const u = Math.sqrt(Math.max(0, reference.u_rel ** 2 - half ** 2 / 3));
	return { u: u > 1e-9 ? u : 0, df: reference.df > 0 ? reference.df : Infinity, half };
}

/** Standard uncertainty and half-width of the 95 % interval of a factor. */
export function spreadOf(
	shares: Shares,
	/** Variance of the next fill's own slow error. */
	fill: number,
	scatterDf: number,
	reference: Reference,
	seed: number,
): { u: number; half: number; df: number } {
	const ref = referenceParts(reference);
	const scale = { u: shares.cart * ref.u, df: ref.df, half: shares.cart * ref.half };
	return spread(shares, { fill: fill + shares.unrecorded, scatterDf, seamDf: shares.seamDf, scale, seed });
}
