/** Ratio of sums with its standard error. */
export interface Ratio {
	/** Σ y / Σ x. */
	ratio: number;
	/** Standard error; NaN with fewer than two pairs. */
	u: number;
	df: number;
	n: number;
}

/**
 * Ratio of sums R = Σ y / Σ x and Cochran's variance v(R) = Σ (y − R x)² / (n (n − 1) x̄²).
 *
 * Source: W. G. Cochran, Sampling Techniques, 3rd ed., Wiley 1977, ch. 6 (no finite-population correction).
 *
 * By hand: ratio 60/60, u = √(2 / (3·2·400)), two degrees of freedom.
 *
 * @example
 * ```js
 * ratioOfSums([10, 21, 29], [10, 20, 30]).u.toFixed(5); // → '0.02887'
 * ```
 */
export function ratioOfSums(y: ArrayLike<number>, x: ArrayLike<number>): Ratio {
	const n = y.length;
	let sumY = 0;
	let sumX = 0;
	for (let i = 0; i < n; i++) {
		sumY += y[i]!;
		sumX += x[i]!;
	}
	const ratio = sumY / sumX;
	let squares = 0;
	for (let i = 0; i < n; i++) squares += (y[i]! - ratio * x[i]!) ** 2;
	const mean = sumX / n;
	const u = n > 1 ? Math.sqrt(squares / (n * (n - 1) * mean * mean)) : Number.NaN;
	return { ratio, u, df: n - 1, n };
}
