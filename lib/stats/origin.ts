/** Slope of a line through the origin. */
export interface OriginFit {
	slope: number;
	/** Standard error of the slope. */
	u: number;
	/** Residual standard deviation (with weights: of an observation of weight 1). */
	s: number;
	df: number;
}

/**
 * Least squares through the origin, y = b x, optionally weighted (weight = 1 / variance up to a constant).
 *
 * Source: NIST StRD, NoInt1 and NoInt2, https://www.itl.nist.gov/div898/strd/lls/lls.shtml (values in the tests).
 *
 * @example throughOrigin([4, 5, 6], [3, 4, 4]) // slope 56/77 = 0.7272727…, u 0.04208…, s 0.36927…, df 2
 */
export function throughOrigin(x: ArrayLike<number>, y: ArrayLike<number>, weight?: ArrayLike<number>): OriginFit {
	let xx = 0;
	let xy = 0;
	for (let i = 0; i < x.length; i++) {
		const w = weight ? weight[i]! : 1;
		xx += w * x[i]! * x[i]!;
		xy += w * x[i]! * y[i]!;
	}
	const slope = xy / xx;
	let squares = 0;
	for (let i = 0; i < x.length; i++) squares += (weight ? weight[i]! : 1) * (y[i]! - slope * x[i]!) ** 2;
	const df = x.length - 1;
	const s = Math.sqrt(squares / df);
	return { slope, u: s / Math.sqrt(xx), s, df };
}
