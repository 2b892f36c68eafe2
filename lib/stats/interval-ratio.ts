import type { Records } from '../model/index.ts';
import { median } from './median.ts';

/** Rows taken together: times may be rounded to the second in a faster log. */
const TOGETHER = 10;
/** Blocks needed before anything is said. */
const LEAST = 5;
/** Intervals and times of a good log differ by less than this log ratio. */
const APART = 0.3;

/**
 * How many times as long as the time between rows the intervals are that they stand for, by the median over ten rows each; NaN for few rows.
 *
 * @param rows - indices of one machine's records, in order of time
 * @example records each second that say 2 s → 2
 */
export function intervalRatio({ time_s, interval_s }: Records, rows: ArrayLike<number>): number {
	const ratios: number[] = [];
	for (let k = TOGETHER; k < rows.length; k += TOGETHER) {
		let sum_s = 0;
		for (let j = k - TOGETHER + 1; j <= k; j++) sum_s += interval_s[rows[j]!]!;
		const passed_s = time_s[rows[k]!]! - time_s[rows[k - TOGETHER]!]!;
		if (sum_s > 0 && passed_s > 0) ratios.push(sum_s / passed_s);
	}
	return ratios.length < LEAST ? Number.NaN : median(ratios);
}

/** Whether intervals contradict the times of their rows, by this ratio of them. */
export const contradictsTimes = (ratio: number): boolean => Math.abs(Math.log(ratio)) > APART;
