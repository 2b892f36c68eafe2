import { weightedRegression } from './linear.ts';
import { median } from './median.ts';

/** A robust linear fit. */
export interface RobustFit {
	beta: Float64Array;
	residuals: Float64Array;
	/** Robust weight of each observation, 0…1. */
	weights: Float64Array;
	/** Robust residual scale (MAD about zero). */
	s: number;
	converged: boolean;
}

/** How an observation's weight falls with its residual in units of the scale. */
export const robustWeight = {
	/** Huber 1964, k = 1.345: 95 % efficient for normal errors. */
	huber: (u: number): number => (Math.abs(u) <= 1.345 ? 1 : 1.345 / Math.abs(u)),
	/** Tukey's bisquare, c = 4.685: 95 % efficient, and far outliers count for nothing. */
	bisquare: (u: number): number => (Math.abs(u) < 4.685 ? (1 - (u / 4.685) ** 2) ** 2 : 0),
} as const;

/**
 * Robust regression by iterated re-weighting, scale by the MAD of the residuals about zero at every turn: the
 * algorithm of R's `MASS::rlm` (method "M", scale.est "MAD", no prior weights).
 *
 * Source: Venables and Ripley, Modern Applied Statistics with S, 4th ed., 6.5; R package MASS, `rlm`
 * (the tests run the same numbers through it).
 *
 * @param start robust start for the bisquare, which has several minima; least squares where absent, as in `rlm`
 * @example robustRegression([[1], [1], [1], [1], [1]], [1, 1.1, 0.9, 1, 50], 'bisquare').beta // near 1
 */
export function robustRegression(
	rows: readonly (readonly number[])[],
	y: ArrayLike<number>,
	psi: keyof typeof robustWeight = 'huber',
	{
		maxTurns = 50,
		tolerance = 1e-10,
		start,
	}: { maxTurns?: number; tolerance?: number; start?: ArrayLike<number> } = {},
): RobustFit {
	const n = rows.length;
	const weigh = robustWeight[psi];
	let beta = start ? Float64Array.from(start) : weightedRegression(rows, y).beta;
	let residuals = residualsOf(rows, y, beta);
	let weights = new Float64Array(n).fill(1);
	let s = 0;
	let converged = false;
	for (let turn = 0; turn < maxTurns && !converged; turn++) {
		s = median(residuals.map(Math.abs)) / 0.6745;
		if (s === 0) {
			// More than half of the observations lie on the fit exactly.
			weights = residuals.map((r) => (r === 0 ? 1 : 0));
			converged = true;
			break;
		}
		weights = residuals.map((r) => weigh(r / s));
		const fit = weightedRegression(rows, y, weights);
		let change = 0;
		let size = 0;
		for (let i = 0; i < n; i++) {
			change += (fit.residuals[i]! - residuals[i]!) ** 2;
			size += residuals[i]! ** 2;
		}
		converged = Math.sqrt(change / Math.max(size, 1e-20)) <= tolerance;
		beta = fit.beta;
		residuals = fit.residuals;
	}
	return { beta, residuals, weights, s, converged };
}

function residualsOf(rows: readonly (readonly number[])[], y: ArrayLike<number>, beta: Float64Array): Float64Array {
	return Float64Array.from(rows, (row, i) => y[i]! - row.reduce((sum, v, j) => sum + v * beta[j]!, 0));
}
