import { effectiveFreedom, halfWidth, type Part } from '../stats/index.ts';
import { causes } from './backward.ts';
import type { Cause } from './belief.ts';
import type { Scatter } from './sizes.ts';
import type { Tape } from './tape.ts';

/** Variances of a sum of a tape's quantities by where they come from, in its units squared. */
export interface Shares {
	readings: number;
	rests: number;
	slow: number;
	seam: number;
	curve: number;
	/** Of a scale that no truck load checks, or that slipped. */
	scale: number;
	/** By the ratio of the cart's scale; signed where it is a covariance. */
	cart: number;
}

/** Variance of a sum of quantities by where it comes from; or their covariance, of two sums. */
export function sharesOf(
	tape: Pick<Tape, 'operations'>,
	scatter: Scatter,
	f: ArrayLike<number>,
	g: ArrayLike<number> = f,
): Shares {
	const of = causes(tape, f, g);
	const sum = (...names: Cause[]) => names.reduce((s, name) => s + (of.get(name) ?? 0), 0);
	// The likeliest size of an error is smaller than its mean square over all that it may be.
	const { sigma, sigmaMean, white, whiteMean } = scatter;
	const wider = (sigmaMean / sigma) ** 2;
	const whiter = white > 0 ? (whiteMean / white) ** 2 : 0;
	return {
		readings: sum('reading', 'weight'),
		rests: sum('rest'),
		slow: wider * sum('slow', 'change') + whiter * sum('fill'),
		seam: sum('seam'),
		curve: sum('curve', 'prior'),
		scale: sum('scale'),
		cart: sum('cart'),
	};
}

/** Readings and rests are judged, not counted: what such a judgement is worth (JCGM 100, G.4.2: good to 16 %). */
const JUDGED_DF = 20;

/** The part that the cart's ratio has in a quantity, in its units: what was estimated, and half of rectangular limits. */
export interface ScalePart {
	u: number;
	df: number;
	half: number;
}

/**
 * Standard uncertainty and half-width of the 95 % interval of a sum of quantities.
 *
 * @param fill further variance: of the next fill's own error, say
 * @param scatterDf degrees of freedom of the sizes of the errors
 * @param seamDf the same of the seams
 */
export function spreadOf(
	shares: Shares,
	fill: number,
	scatterDf: number,
	seamDf: number,
	scale: ScalePart,
	seed: number,
	draws = 20_000,
): { u: number; half: number; df: number } {
	const parts = [
		{ u: Math.sqrt(Math.max(0, shares.readings)), df: JUDGED_DF },
		{ u: Math.sqrt(Math.max(0, shares.rests)), df: Math.min(JUDGED_DF, scatterDf) },
		{ u: Math.sqrt(Math.max(0, shares.slow + fill)), df: scatterDf },
		{ u: Math.sqrt(Math.max(0, shares.seam)), df: seamDf },
		{ u: Math.sqrt(Math.max(0, shares.curve)), df: JUDGED_DF },
		{ u: Math.sqrt(Math.max(0, shares.scale)), df: JUDGED_DF },
		{ u: scale.u, df: scale.df },
	];
	const u = Math.hypot(...parts.map((p) => p.u));
	const df = effectiveFreedom(
		parts.map((p) => p.u),
		parts.map((p) => p.df),
	);
	const list: Part[] = [{ kind: 't', u, df: Math.max(1, df) }];
	if (scale.half > 0) list.push({ kind: 'rectangular', half: scale.half });
	return { u: Math.hypot(u, scale.half / Math.sqrt(3)), half: halfWidth(list, 0.95, draws, seed), df };
}
