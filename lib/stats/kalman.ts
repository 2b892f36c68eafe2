/** What a scalar filter knows after each observation. */
export interface Filtered {
	mean: Float64Array;
	variance: Float64Array;
	/** Observation less its prediction; NaN where nothing was observed. */
	innovation: Float64Array;
	/** Variance of the innovation. */
	innovationVariance: Float64Array;
	/** log-likelihood of all observations. */
	logLikelihood: number;
}

/**
 * Scalar Kalman filter of a random walk: x_t = a_t x_{t−1} + w_t, z_t = x_t + v_t, var(w) = q, var(v) = r.
 *
 * Source: R. E. Kalman, Journal of Basic Engineering 82:35, 1960.
 *
 * @param z observations, NaN = none at this step
 * @param q variance added before each observation
 * @param r variance of each observation
 * @param start mean and variance before the first step
 * @param a how much of the state is kept from step to step; 1 = random walk
 * @example filter([1], [0], [1], { mean: 0, variance: 1 }).mean // [0.5]
 */
export function filter(
	z: ArrayLike<number>,
	q: ArrayLike<number>,
	r: ArrayLike<number>,
	start: { mean: number; variance: number },
	a?: ArrayLike<number>,
): Filtered {
	const n = z.length;
	const mean = new Float64Array(n);
	const variance = new Float64Array(n);
	const innovation = new Float64Array(n).fill(Number.NaN);
	const innovationVariance = new Float64Array(n).fill(Number.NaN);
	let logLikelihood = 0;
	let m = start.mean;
	let v = start.variance;
	for (let i = 0; i < n; i++) {
		const keep = a ? a[i]! : 1;
		m *= keep;
		v = keep * keep * v + q[i]!;
		if (!Number.isNaN(z[i]!)) {
			const s = v + r[i]!;
			const e = z[i]! - m;
			innovation[i] = e;
			innovationVariance[i] = s;
			if (s > 0) {
				m += (v / s) * e;
				v *= r[i]! / s;
				logLikelihood -= 0.5 * (Math.log(2 * Math.PI * s) + (e * e) / s);
			}
		}
		mean[i] = m;
		variance[i] = v;
	}
	return { mean, variance, innovation, innovationVariance, logLikelihood };
}

/**
 * Rauch–Tung–Striebel smoother over a filtered series: what each state is given all observations.
 *
 * Source: Rauch, Tung and Striebel, AIAA Journal 3:1445, 1965.
 */
export function smooth(
	filtered: Filtered,
	q: ArrayLike<number>,
	a?: ArrayLike<number>,
): { mean: Float64Array; variance: Float64Array } {
	const mean = filtered.mean.slice();
	const variance = filtered.variance.slice();
	for (let i = mean.length - 2; i >= 0; i--) {
		const keep = a ? a[i + 1]! : 1;
		const ahead = keep * keep * filtered.variance[i]! + q[i + 1]!;
		if (!(ahead > 0)) continue;
		const gain = (keep * filtered.variance[i]!) / ahead;
		mean[i]! += gain * (mean[i + 1]! - keep * filtered.mean[i]!);
		variance[i]! += gain * gain * (variance[i + 1]! - ahead);
	}
	return { mean, variance };
}
