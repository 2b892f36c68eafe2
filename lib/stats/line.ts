/** A straight line y = y1 + y2 (x − x0) with everything needed to predict from it. */
export interface LineFit {
	/** Value at x0. */
	intercept: number;
	slope: number;
	/** Standard uncertainties and their correlation. */
	uIntercept: number;
	uSlope: number;
	r: number;
	/** Residual standard deviation (with weights: of an observation of weight 1). */
	s: number;
	df: number;
	x0: number;
	/** Value of the line at x and its standard uncertainty. */
	at(x: number): { y: number; u: number };
}

/**
 * Least-squares line with full uncertainty, correlation of its two coefficients included.
 *
 * Source: JCGM 100:2008 (GUM), H.3, "Calibration of a thermometer"; its numbers are in the tests.
 *
 * @param x0 where the intercept is taken
 * @param weight 1 / variance, up to a constant
 * @example lineFit([1, 2, 3], [2, 4, 6]) // intercept 0 at x = 0, slope 2
 */
export function lineFit(x: ArrayLike<number>, y: ArrayLike<number>, x0 = 0, weight?: ArrayLike<number>): LineFit {
	const n = x.length;
	let sw = 0;
	let sx = 0;
	let sy = 0;
	for (let i = 0; i < n; i++) {
		const w = weight ? weight[i]! : 1;
		sw += w;
		sx += w * x[i]!;
		sy += w * y[i]!;
	}
	// Sums about the means keep the digits that the textbook formulas in Σx² lose.
	const mx = sx / sw;
	const my = sy / sw;
	let xx = 0;
	let xy = 0;
	for (let i = 0; i < n; i++) {
		const w = weight ? weight[i]! : 1;
		xx += w * (x[i]! - mx) ** 2;
		xy += w * (x[i]! - mx) * (y[i]! - my);
	}
	const slope = xy / xx;
	let squares = 0;
	for (let i = 0; i < n; i++) {
		squares += (weight ? weight[i]! : 1) * (y[i]! - my - slope * (x[i]! - mx)) ** 2;
	}
	const df = n - 2;
	const s = Math.sqrt(squares / df);
	const uSlope = s / Math.sqrt(xx);
	const uAt = (x: number) => s * Math.sqrt(1 / sw + (x - mx) ** 2 / xx);
	const uIntercept = uAt(x0);
	const intercept = my + slope * (x0 - mx);
	return {
		intercept,
		slope,
		uIntercept,
		uSlope,
		r: ((x0 - mx) * uSlope) / uIntercept,
		s,
		df,
		x0,
		at: (x) => ({ y: my + slope * (x - mx), u: uAt(x) }),
	};
}
