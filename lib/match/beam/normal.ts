/** ln √(2π). */
const LN_ROOT_2PI = 0.918_938_533_204_672_7;

/** −ln of the normal density at a distance d with variance v. */
export function normalCost(d: number, v: number): number {
	return (d * d) / (2 * v) + 0.5 * Math.log(v) + LN_ROOT_2PI;
}

/**
 * ln Φ(z) to about 1e-3, fast: the rational approximation of Abramowitz and Stegun, 26.2.17, the asymptotic
 * tail below −5, and nothing above 6. For the innermost loop; `normalCdf` of lib/stats is exact and slower.
 */
export function lnPhi(z: number): number {
	if (z > 6) return 0;
	if (z < -5) return (-z * z) / 2 - LN_ROOT_2PI - Math.log(-z) + Math.log1p(-1 / (z * z));
	const a = Math.abs(z);
	const t = 1 / (1 + 0.231_641_9 * a);
	const poly =
		t * (0.319_381_53 + t * (-0.356_563_782 + t * (1.781_477_937 + t * (-1.821_255_978 + t * 1.330_274_429))));
	const tail = Math.exp((-a * a) / 2 - LN_ROOT_2PI) * poly;
	return Math.log(z > 0 ? 1 - tail : tail);
}

/**
 * −ln of the marginal density of an observation m with variance v of a quantity r ≥ 0, whose prior density is
 * exp(−r/scale)/scale.
 */
export function restCost(m: number, v: number, scale: number): number {
	const s = Math.sqrt(v);
	return m / scale - v / (2 * scale * scale) + Math.log(scale) - lnPhi((m - v / scale) / s);
}

/** Mean and variance of r given that observation: a normal shifted by −v/scale and truncated at 0. */
export function restMoments(m: number, v: number, scale: number): { mean: number; variance: number } {
	const s = Math.sqrt(v);
	const shifted = m - v / scale;
	const z = shifted / s;
	// Inverse Mills ratio: how far truncation moves the mean up.
	const push = Math.exp((-z * z) / 2 - LN_ROOT_2PI - lnPhi(z));
	const mean = shifted + s * push;
	const variance = v * Math.max(1e-3, 1 - push * (z + push));
	return { mean: Math.max(0, mean), variance };
}
