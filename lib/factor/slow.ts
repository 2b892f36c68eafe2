/**
 * The sensor's slow error as a stationary process: correlation exp(−Δt/τ), averaged over two stretches of time.
 *
 * A monitor errs slowly (moisture, slope, temperature move it by a per cent over minutes to hours), so fills near in
 * time err alike. A correlation time of 25 minutes lies in the middle of that.
 */
export const TAU_S = 1500;

/** Time in which a slow error may still be alike in the worst case: what a drift must beat. */
export const TAU_LONG_S = 2400;

/**
 * Mean correlation of the slow error over two stretches of time (of itself for the same stretch): what is left of
 * its variance in a fill's mean, or of its covariance in two fills.
 */
export function overlap(
	a: { time_s: number; start_s: number; end_s: number },
	b: { time_s: number; start_s: number; end_s: number },
	tau_s: number,
): number {
	const p = Math.max(1, a.end_s - a.start_s) / tau_s;
	if (a === b) return (2 * (p - 1 + Math.exp(-p))) / (p * p);
	const q = Math.max(1, b.end_s - b.start_s) / tau_s;
	const apart = Math.max(Math.abs(a.time_s - b.time_s) / tau_s, (p + q) / 2);
	// Mean of exp(−|s − t|) over two intervals that do not overlap.
	// In logarithms, since a fill that spans a night is many τ long.
	return Math.exp(logSpread(p) + logSpread(q) - apart);
}

/** log( sinh(p/2) / (p/2) ). */
function logSpread(p: number): number {
	return p < 1e-3 ? 0 : p / 2 + Math.log(-Math.expm1(-p) / p);
}
