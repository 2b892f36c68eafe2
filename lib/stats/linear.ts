import { Matrix, QrDecomposition } from 'ml-matrix';

/** A linear model fitted by least squares. */
export interface LinearFit {
	beta: Float64Array;
	/** Covariance of beta, row-major. */
	covariance: Float64Array;
	/** Standard errors of beta. */
	u: Float64Array;
	residuals: Float64Array;
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
	const used: number[] = [];
	for (let i = 0; i < rows.length; i++) if (!weight || weight[i]! > 0) used.push(i);
	if (used.length < p) throw new Error(`a fit of ${p} coefficients needs as many observations, not ${used.length}`);
	const x = new Matrix(used.length, p);
	const b = new Matrix(used.length, 1);
	used.forEach((i, r) => {
		const root = weight ? Math.sqrt(weight[i]!) : 1;
		for (let j = 0; j < p; j++) x.set(r, j, root * rows[i]![j]!);
		b.set(r, 0, root * y[i]!);
	});
	const qr = new QrDecomposition(x);
	// isFullRank() tests for an exact zero; here a column that equals a sum of others to 12 digits is rejected too.
	for (let j = 0; j < p; j++) {
		let size = 0;
		for (let i = 0; i < used.length; i++) size += x.get(i, j) ** 2;
		if (!(Math.abs(qr.upperTriangularMatrix.get(j, j)) > 1e-12 * Math.sqrt(size))) {
			throw new Error('the columns are linearly dependent');
		}
	}
	const beta = Float64Array.from(qr.solve(b).to1DArray());
	const residuals = new Float64Array(rows.length);
	let squares = 0;
	for (let i = 0; i < rows.length; i++) {
		let fit = 0;
		for (let j = 0; j < p; j++) fit += rows[i]![j]! * beta[j]!;
		residuals[i] = y[i]! - fit;
		squares += (weight ? weight[i]! : 1) * residuals[i]! ** 2;
	}
	const df = used.length - p;
	const s = df > 0 ? Math.sqrt(squares / df) : Number.NaN;
	// (XᵀX)⁻¹ = R⁻¹ R⁻ᵀ, without forming XᵀX, which would lose half the digits.
	const r = qr.upperTriangularMatrix;
	const inverse = new Matrix(p, p);
	for (let col = 0; col < p; col++) {
		for (let i = p - 1; i >= 0; i--) {
			let sum = i === col ? 1 : 0;
			for (let j = i + 1; j < p; j++) sum -= r.get(i, j) * inverse.get(j, col);
			inverse.set(i, col, sum / r.get(i, i));
		}
	}
	const covariance = new Float64Array(p * p);
	const u = new Float64Array(p);
	for (let i = 0; i < p; i++) {
		for (let j = 0; j < p; j++) {
			let sum = 0;
			for (let k = 0; k < p; k++) sum += inverse.get(i, k) * inverse.get(j, k);
			covariance[i * p + j] = sum * s * s;
		}
		u[i] = Math.sqrt(covariance[i * p + i]!);
	}
	return { beta, covariance, u, residuals, s, df };
}
