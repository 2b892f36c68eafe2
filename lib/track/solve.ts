/** Solves a small symmetric positive definite system by Cholesky's method (row-major, n × n; lower half read). */
import { CholeskyDecomposition, Matrix } from 'ml-matrix';

export function solveSymmetric(normal: Float64Array, side: Float64Array, n: number): Float64Array {
	const a = Matrix.zeros(n, n);
	for (let p = 0; p < n; p++) {
		for (let q = 0; q <= p; q++) {
			// Sums made in another order differ in the last digit, and the method asks for exact symmetry.
			a.set(p, q, normal[p * n + q]!);
			a.set(q, p, normal[p * n + q]!);
		}
	}
	const solved = new CholeskyDecomposition(a).solve(Matrix.columnVector(side));
	return Float64Array.from(solved.to1DArray());
}
