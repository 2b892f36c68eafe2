/**
 * Ordinary kriging of one place from a few data: weights that sum to 1 and minimize the expected squared error for a
 * covariance. One solver has scratch space for up to `most` data.
 *
 * With K the data's covariances, k0 those of data and target, c00 the target's own variance:
 *   w = K⁻¹ (k0 + μ 1), μ = (1 − 1ᵀK⁻¹k0) / (1ᵀK⁻¹1), variance = c00 − k0ᵀK⁻¹k0 + (1 − 1ᵀK⁻¹k0)² / (1ᵀK⁻¹1).
 *
 * Source: Cressie, *Statistics for Spatial Data*, section 3.2. Checked against gstat's `krige` on the meuse data.
 */
export class Kriging {
	/** Fill the lower triangle: row i, column j ≤ i at i·most + j. */
	readonly covariance: Float64Array;
	/** Covariance of each datum with the target. */
	readonly target: Float64Array;
	/** Result: one weight per datum. */
	readonly weights: Float64Array;
	/** Result of `lean`. */
	readonly leaned: Float64Array;
	private readonly a: Float64Array;
	private readonly b: Float64Array;

	constructor(readonly most: number) {
		this.covariance = new Float64Array(most * most);
		this.target = new Float64Array(most);
		this.weights = new Float64Array(most);
		this.leaned = new Float64Array(most);
		this.a = new Float64Array(most);
		this.b = new Float64Array(most);
	}

	/**
	 * Solves for the first `n` data; `own` is the target's own variance. Returns the kriging variance, NaN where the matrix
	 * is not positive definite. The lower triangle is overwritten by its Cholesky factor.
	 */
	solve(n: number, own: number): number {
		return this.decompose(n) ? this.aim(n, own) : Number.NaN;
	}

	/** The part of `solve` that does not depend on the target; false where the matrix is not positive definite. */
	decompose(n: number): boolean {
		const { b, covariance, most } = this;
		if (n === 0 || !cholesky(covariance, most, n)) return false;
		for (let i = 0; i < n; i++) b[i] = 1;
		forward(covariance, most, n, b);
		return true;
	}

	/** Weights for one target from the decomposed covariances, any number of times. Returns the kriging variance. */
	aim(n: number, own: number): number {
		const { a, b, target, weights, covariance, most } = this;
		for (let i = 0; i < n; i++) a[i] = target[i]!;
		forward(covariance, most, n, a);
		let explained = 0;
		let cross = 0;
		let ones = 0;
		for (let i = 0; i < n; i++) {
			explained += a[i]! * a[i]!;
			cross += a[i]! * b[i]!;
			ones += b[i]! * b[i]!;
		}
		const mu = (1 - cross) / ones;
		for (let i = 0; i < n; i++) weights[i] = a[i]! + mu * b[i]!;
		backward(covariance, most, n, weights);
		return own - explained + (1 - cross) * mu;
	}

	/**
	 * Generalized sum of squares of the data about their mean: near n − 1 when the covariances are right. Call after
	 * `decompose`.
	 */
	misfit(n: number, values: ArrayLike<number>): number {
		const { a, b, covariance, most } = this;
		for (let i = 0; i < n; i++) a[i] = values[i]!;
		forward(covariance, most, n, a);
		let squares = 0;
		let cross = 0;
		let ones = 0;
		for (let i = 0; i < n; i++) {
			squares += a[i]! * a[i]!;
			cross += a[i]! * b[i]!;
			ones += b[i]! * b[i]!;
		}
		return squares - (cross * cross) / ones;
	}

	/** K⁻¹ (data − generalized least-squares mean), into `leaned`. Call after `solve`. */
	lean(n: number, values: ArrayLike<number>): void {
		const { leaned, b, covariance, most } = this;
		for (let i = 0; i < n; i++) leaned[i] = values[i]!;
		forward(covariance, most, n, leaned);
		let cross = 0;
		let ones = 0;
		for (let i = 0; i < n; i++) {
			cross += leaned[i]! * b[i]!;
			ones += b[i]! * b[i]!;
		}
		for (let i = 0; i < n; i++) leaned[i]! -= (cross / ones) * b[i]!;
		backward(covariance, most, n, leaned);
	}
}

/** Overwrites a lower triangle by its Cholesky factor; false where the matrix is not positive definite. */
export function cholesky(m: Float64Array, stride: number, n: number): boolean {
	for (let i = 0; i < n; i++) {
		const row = i * stride;
		for (let j = 0; j <= i; j++) {
			const other = j * stride;
			let sum = m[row + j]!;
			for (let k = 0; k < j; k++) sum -= m[row + k]! * m[other + k]!;
			if (j < i) m[row + j] = sum / m[other + j]!;
			else if (sum > 0) m[row + i] = Math.sqrt(sum);
			else return false;
		}
	}
	return true;
}

/** Solves L v = v in place. */
export function forward(l: Float64Array, stride: number, n: number, v: Float64Array): void {
	for (let i = 0; i < n; i++) {
		let sum = v[i]!;
		const row = i * stride;
		for (let k = 0; k < i; k++) sum -= l[row + k]! * v[k]!;
		v[i] = sum / l[row + i]!;
	}
}

/** Solves Lᵀ v = v in place. */
export function backward(l: Float64Array, stride: number, n: number, v: Float64Array): void {
	for (let i = n - 1; i >= 0; i--) {
		let sum = v[i]!;
		for (let k = i + 1; k < n; k++) sum -= l[k * stride + i]! * v[k]!;
		v[i] = sum / l[i * stride + i]!;
	}
}
