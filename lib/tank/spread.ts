import { effectiveFreedom, halfWidth, type Part } from '../stats/index.ts';
import { causes } from './backward.ts';
import type { Cause } from './belief.ts';
import type { Scatter } from './sizes.ts';
import type { Operations } from './tape.ts';

/** Variance of a sum of a tape's quantities by source, in squared units of the sum. */
export interface Shares {
	readings: number;
	rests: number;
	slow: number;
	seam: number;
	curve: number;
	/** From a scale that no truckload checks, or that changed. */
	scale: number;
	/** From the cart ratio. */
	cart: number;
}

/** Variance of a sum of quantities by source. */
export function sharesOf(tape: Operations, scatter: Scatter, f: ArrayLike<number>): Shares {
	const of = causes(tape, f);
	const sum = (...names: Cause[]) => names.reduce((s, name) => s + (of.get(name) ?? 0), 0);
	// The most likely size of an error is smaller than its root mean square over all sizes.
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

/** Degrees of freedom of readings and rests, whose sizes are judged (JCGM 100, G.4.2: to 16 %). */
const JUDGED_DF = 20;

/** The cart ratio's part in a quantity, in its units: the estimated part, and the half-width of rectangular limits. */
export interface ScalePart {
	u: number;
	df: number;
	half: number;
}

/** What an interval takes beside the shares of its variance. */
export interface Known {
	/** Further variance, such as that of the next fill's own error. */
	fill?: number;
	/** Degrees of freedom of the sizes of the errors. */
	scatterDf: number;
	/** Degrees of freedom of the seams. */
	seamDf: number;
	scale: ScalePart;
	/** Of the draws by which a half-width is found where errors of two kinds meet. */
	seed: number;
	draws?: number;
}

/** Standard uncertainty and half-width of the 95 % interval of a sum of quantities. */
export function spreadOf(
	shares: Shares,
	{ fill = 0, scatterDf, seamDf, scale, seed, draws = 20_000 }: Known,
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
