import { normalCdf } from '../stats/index.ts';

/**
 * Mean and variance of a normal quantity that is known to lie between two bounds.
 *
 * Source: moments of the truncated normal distribution, Johnson, Kotz and Balakrishnan, Continuous Univariate
 * Distributions, vol. 1, 2nd ed., section 10.1. `logShare` is the log probability of that.
 */
export function between(mean: number, variance: number, low: number, high: number) {
	const s = Math.sqrt(variance);
	if (!(s > 0)) return { mean: Math.max(low, Math.min(high, mean)), variance: 0, logShare: 0 };
	const a = (low - mean) / s;
	const b = (high - mean) / s;
	// Far out, the density decreases like exp(−a·x) from the near bound.
	if (a > 6) return { mean: low + s / a, variance: (s / a) ** 2, logShare: tail(a) };
	if (b < -6) return { mean: high + s / b, variance: (s / b) ** 2, logShare: tail(-b) };
	const share = normalCdf(b) - normalCdf(a);
	const pa = density(a);
	const pb = density(b);
	const shift = (pa - pb) / share;
	const bend = ((Number.isFinite(a) ? a * pa : 0) - (Number.isFinite(b) ? b * pb : 0)) / share;
	return {
		mean: mean + s * shift,
		variance: Math.max(1e-12 * variance, variance * (1 + bend - shift * shift)),
		logShare: Math.log(share),
	};
}

function density(z: number): number {
	return Number.isFinite(z) ? Math.exp(-0.5 * z * z) / Math.sqrt(2 * Math.PI) : 0;
}

/** Log of the upper tail probability, asymptotic. */
function tail(z: number): number {
	return -0.5 * z * z - Math.log(z * Math.sqrt(2 * Math.PI));
}
