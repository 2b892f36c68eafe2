/**
 * A monitor's slow error, an Ornstein-Uhlenbeck process of standard deviation 1, after a pause and a stretch of work, and its
 * mean over that stretch, by its value s before the pause.
 */
export interface Course {
	/** End = keep · s + noise, mean = share · s + noise. */
	keep: number;
	share: number;
	/** Variances of both noises, and their covariance. */
	end: number;
	mean: number;
	both: number;
}

/**
 * Course of a slow error with correlation time τ, exactly. Given the value s at the start of a stretch, mean and end are
 * jointly normal. With p = T / τ and e = exp(−p): E mean = s (1 − e) / p, var mean = (2p − 3 + 4e − e²) / p², E end = s e,
 * var end = 1 − e², cov = (1 − e)² / p.
 */
export function courseOf(paused_s: number, seconds: number, tau_s: number): Course {
	const pause = paused_s > 0 ? paused_s / tau_s : 0;
	const before = Math.exp(-pause);
	const moved = -Math.expm1(-2 * pause);
	if (!(seconds > 0)) return { keep: before, share: before, end: moved, mean: moved, both: moved };
	const { keep, share, variance, spread, common } = moments(seconds / tau_s);
	return {
		keep: keep * before,
		share: share * before,
		end: spread + keep ** 2 * moved,
		mean: variance + share ** 2 * moved,
		both: common + keep * share * moved,
	};
}

/** The moments above, of the stretch alone. */
function moments(p: number) {
	const e = Math.exp(-p);
	if (p < 1e-3) {
		// Series where differences would lose digits.
		return { keep: e, share: 1 - p / 2, variance: (2 * p) / 3, spread: 2 * p, common: p };
	}
	return {
		keep: e,
		share: -Math.expm1(-p) / p,
		variance: (2 * p - 3 + 4 * e - e * e) / (p * p),
		spread: -Math.expm1(-2 * p),
		common: Math.expm1(-p) ** 2 / p,
	};
}

/** Variance of the mean of a slow error of variance 1 over a stretch. */
export function meanVariance(seconds: number, tau_s: number): number {
	const p = Math.max(1e-9, seconds / tau_s);
	return p < 1e-4 ? 1 : (2 * (p - 1 + Math.exp(-p))) / (p * p);
}
