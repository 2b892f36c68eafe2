import { CholeskyDecomposition, Matrix } from 'ml-matrix';
import { columnOf } from './columns.ts';

/** A generalized least-squares fit with a known covariance of the errors. */
export interface GlsFit {
	beta: Float64Array;
	/** Covariance of beta for errors of exactly the covariance given, row-major. */
	covariance: Float64Array;
}

/**
 * Generalized least squares on a small dense system: β = (Xᵀ V⁻¹ X)⁻¹ Xᵀ V⁻¹ y.
 *
 * Source: A. C. Aitken, Proceedings of the Royal Society of Edinburgh 55:42, 1935.
 *
 * @param V - covariance of the errors, row-major n × n, positive definite
 * @throws Error where V is not positive definite or the columns are linearly dependent
 * @example
 * ```js
 * [...gls([[1], [1]], [1, 3], [1, 0, 0, 1]).beta].map((b) => +b.toFixed(9)); // → [2]
 * ```
 */
export function gls(rows: readonly (readonly number[])[], y: ArrayLike<number>, V: ArrayLike<number>): GlsFit {
	const n = rows.length;
	const p = rows[0]?.length ?? 0;
	const L = cholesky(V, n);
	const wx: Float64Array[] = [];
	for (let j = 0; j < p; j++) {
		const x = columnOf(rows, (r) => r[j]!);
		wx.push(forward(L, n, x));
	}
	const normal = new Matrix(p, p);
	for (let i = 0; i < p; i++) for (let j = 0; j < p; j++) normal.set(i, j, dot(wx[i]!, wx[j]!));
	const factored = new CholeskyDecomposition(normal);
	if (!factored.isPositiveDefinite()) throw new Error('the columns are linearly dependent');
	const inverse = factored.solve(Matrix.eye(p, p));
	const covariance = Float64Array.from(inverse.to1DArray());
	const beta = new Float64Array(p);
	for (let j = 0; j < p; j++) {
		const w = new Float64Array(n);
		for (let k = 0; k < p; k++) for (let i = 0; i < n; i++) w[i]! += covariance[j * p + k]! * wx[k]![i]!;
		const map = backward(L, n, w);
		for (let i = 0; i < n; i++) beta[j]! += map[i]! * y[i]!;
	}
	return { beta, covariance };
}

/** Lower Cholesky factor of a symmetric positive definite matrix, row-major. */
export function cholesky(V: ArrayLike<number>, n: number): Float64Array {
	const L = new Float64Array(n * n);
	for (let i = 0; i < n; i++) {
		for (let j = 0; j <= i; j++) {
			let sum = V[i * n + j]!;
			for (let k = 0; k < j; k++) sum -= L[i * n + k]! * L[j * n + k]!;
			if (i !== j) L[i * n + j] = sum / L[j * n + j]!;
			else if (sum > 0) L[i * n + i] = Math.sqrt(sum);
			else throw new Error('the covariance of the errors is not positive definite');
		}
	}
	return L;
}

/** L x = b. */
export function forward(L: Float64Array, n: number, b: Float64Array): Float64Array {
	const x = new Float64Array(n);
	for (let i = 0; i < n; i++) {
		let sum = b[i]!;
		for (let k = 0; k < i; k++) sum -= L[i * n + k]! * x[k]!;
		x[i] = sum / L[i * n + i]!;
	}
	return x;
}

/** Lᵀ x = b. */
export function backward(L: Float64Array, n: number, b: Float64Array): Float64Array {
	const x = new Float64Array(n);
	for (let i = n - 1; i >= 0; i--) {
		let sum = b[i]!;
		for (let k = i + 1; k < n; k++) sum -= L[k * n + i]! * x[k]!;
		x[i] = sum / L[i * n + i]!;
	}
	return x;
}

function dot(a: Float64Array, b: Float64Array): number {
	let sum = 0;
	for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!;
	return sum;
}
