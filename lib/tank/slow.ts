import type { Belief } from './belief.ts';

/** A monitor's slow error: an Ornstein-Uhlenbeck process of this standard deviation (relative) and correlation time. */
export interface Slow {
	sigma: number;
	tau_s: number;
}

/** Advances a slow error over some seconds in which no grain came in. */
export function pause(b: Belief, slot: number, seconds: number, slow: Slow): void {
	if (!(seconds > 0)) return;
	const keep = Math.exp(-seconds / slow.tau_s);
	b.mix(slot, keep, NONE, NONE, 0, slow.sigma ** 2 * -Math.expm1((-2 * seconds) / slow.tau_s), 'slow');
}

const NONE: number[] = [];

/**
 * Advances a slow error over a stretch of time and puts its mean over that stretch into slot `mean`, exactly. Given its
 * value s at the start, mean and end are jointly normal. With p = T / τ and e = exp(−p): E mean = s (1 − e) / p,
 * var mean = σ² (2p − 3 + 4e − e²) / p², E end = s e, var end = σ² (1 − e²), cov = σ² (1 − e)² / p.
 */
export function stretch(b: Belief, slot: number, mean: number, seconds: number, slow: Slow): void {
	const { variance, keep, share, spread, common } = moments(seconds / slow.tau_s);
	const s2 = slow.sigma ** 2;
	b.mix(mean, 0, [slot], [share], 0, s2 * variance, 'slow');
	// The noise of the end is its regression on the noise of the mean, plus an independent rest.
	const along = variance > 0 ? common / variance : 0;
	b.mix(slot, keep - along * share, [mean], [along], 0, s2 * Math.max(0, spread - along * common), 'slow');
}

/** The moments above for σ = 1. */
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
