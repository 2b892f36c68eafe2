import { inverse, Matrix, QrDecomposition } from 'ml-matrix';
import { columnOf } from './columns.ts';

/** A linear model fitted by least squares. */
export interface LinearFit {
	beta: Float64Array;
	/** Covariance of beta where the errors' variances are 1 / weight, row-major; of s² / weight, this times s². */
	covariance: Float64Array;
	/** Standard errors of beta, from the residuals. */
	u: Float64Array;
	/** Residual standard deviation (of an observation of weight 1). */
	s: number;
	df: number;
}

/**
 * Weighted linear regression y = X β + e by QR, var(e_i) = s² / weight_i: R's `lm(y ~ X - 1, weights = w)`.
 * Rows of weight 0 do not count as observations.
 *
 * Source: R, `stats::lm` (the tests run the same numbers through it).
 *
 * @param rows - one row per observation
 * @throws Error where the columns are linearly dependent
 * @example
 * ```js
 * [...weightedRegression([[1, 0], [1, 1], [1, 2]], [1, 3, 5]).beta].map((b) => +b.toFixed(9)); // → [1, 2]
 * ```
 */
export function weightedRegression(
	rows: readonly (readonly number[])[],
	y: ArrayLike<number>,
	weight?: ArrayLike<number>,
): LinearFit {
	const p = rows[0]?.length ?? 0;
	const root = columnOf(rows, (_, i) => Math.sqrt(weight ? weight[i]! : 1));
	const used = [...root.keys()].filter((i) => root[i]! > 0);
	if (used.length < p) throw new Error(`a fit of ${p} coefficients needs as many observations, not ${used.length}`);
	const x = new Matrix(used.map((i) => rows[i]!.map((v) => root[i]! * v)));
	const b = Matrix.columnVector(used.map((i) => root[i]! * y[i]!));
	const qr = new QrDecomposition(x);
	const r = qr.upperTriangularMatrix;
	// isFullRank() tests for an exact zero; here a column that equals a sum of others to 12 digits is rejected too.
	if (!r.diagonal().every((d, j) => Math.abs(d) > 1e-12 * x.getColumnVector(j).norm())) {
		throw new Error('the columns are linearly dependent');
	}
	const beta = qr.solve(b);
	const df = used.length - p;
	const s = df > 0 ? Matrix.sub(b, x.mmul(beta)).norm() / Math.sqrt(df) : Number.NaN;
	// (XᵀX)⁻¹ = R⁻¹ R⁻ᵀ, without forming XᵀX, which would lose half the digits.
	const back = inverse(r);
	const covariance = back.mmul(back.transpose());
	return {
		beta: Float64Array.from(beta.to1DArray()),
		covariance: Float64Array.from(covariance.to1DArray()),
		u: Float64Array.from(covariance.diagonal(), (v) => s * Math.sqrt(v)),
		s,
		df,
	};
}
