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
