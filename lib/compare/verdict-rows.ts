import type { ComparedRow } from '../model/index.ts';
import { effectiveFreedom, tQuantile } from '../stats/index.ts';

/** What a row needs besides its numbers for a verdict. */
export interface Judged {
	/** Smallest difference that matters: a wider interval that includes zero is not enough data. */
	tolerance?: number;
	/** The reason if there is no interval. */
	missing?: string;
	/** Why the difference says nothing although it has an interval; null where it does. */
	circular?: string | null;
}

/**
 * A row with its verdict: difference shown, no difference shown, or not enough data with the reason. No verdict says that
 * two values are the same: the interval shows how large a difference could go unseen.
 */
export function row(
	of: Pick<ComparedRow, 'what' | 'label' | 'unit' | 'shared' | 'a' | 'b'>,
	difference: number,
	interval: readonly [number, number],
	{ tolerance = Infinity, missing = 'no interval', circular = null }: Judged = {},
): ComparedRow {
	const known = circular === null && Number.isFinite(difference) && interval.every(Number.isFinite);
	const certain = known ? interval[0] > 0 || interval[1] < 0 : null;
	const wide = known && (interval[1] - interval[0]) / 2 > tolerance;
	const verdict =
		certain === null
			? `not enough data: ${circular ?? missing}`
			: certain
				? 'difference shown'
				: wide
					? 'not enough data: interval wider than the tolerance'
					: 'no difference shown';
	return { ...of, difference, interval: [interval[0], interval[1]], certain, verdict };
}

/** Difference of two means with their standard errors, by Welch's t. */
export function welch(a: readonly number[], b: readonly number[]): { difference: number; interval: [number, number] } {
	const p = mean(a);
	const q = mean(b);
	const difference = p.mean - q.mean;
	const u = Math.hypot(p.u, q.u);
	const df = effectiveFreedom([p.u, q.u], [a.length - 1, b.length - 1]);
	const half = tQuantile(0.975, Math.max(1, df)) * u;
	return { difference, interval: [difference - half, difference + half] };
}

/** Weighted mean of paired differences, with its interval by Student's t. */
export function paired(
	d: readonly number[],
	weight: readonly number[],
): { difference: number; interval: [number, number] } {
	const W = weight.reduce((s, w) => s + w, 0);
	const m = d.reduce((s, v, i) => s + weight[i]! * v, 0) / W;
	const n = d.length;
	if (n < 2) return { difference: m, interval: [Number.NaN, Number.NaN] };
	const variance = d.reduce((s, v, i) => s + (weight[i]! * (v - m)) ** 2, 0) / (W * W);
	const half = tQuantile(0.975, n - 1) * Math.sqrt((variance * n) / (n - 1));
	return { difference: m, interval: [m - half, m + half] };
}

/** Share of the pieces that counts as independent, since successive pieces of work are correlated. */
const WORTH = 0.5;

function mean(list: readonly number[]): { mean: number; u: number } {
	const n = list.length;
	const m = list.reduce((s, v) => s + v, 0) / n;
	if (n < 2) return { mean: m, u: Number.NaN };
	const variance = list.reduce((s, v) => s + (v - m) ** 2, 0) / (n - 1);
	return { mean: m, u: Math.sqrt(variance / (n * WORTH)) };
}
