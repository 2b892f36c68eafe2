import type { Records } from '../model/index.ts';
import { columnOf } from './columns.ts';
import { median } from './median.ts';

/** Rows taken together, since times may be rounded to the second in a faster log. */
const TOGETHER = 10;
/** A step that is so many times as long as usual, and as its interval, is a gap in the log. */
const GAP = 2.5;
/** Intervals and times of a good log differ by less than this log ratio. */
const APART = 0.3;

/**
 * How many times as long as the time between the rows the intervals are that they stand for, by ten rows each without the gaps
 * among them.
 *
 * @param rows - indices of one machine's records, in order of time
 * @returns one for each of the rows, NaN where it is not known
 * @example records each second that say 2 s → 2
 */
export function intervalRatios({ time_s, interval_s }: Records, rows: ArrayLike<number>): Float64Array {
	const steps = columnOf(rows, (i, k) => (k > 0 ? time_s[i]! - time_s[rows[k - 1]!]! : Number.NaN));
	const usual_s = median(steps.filter((s) => s > 0));
	const ratios = new Float64Array(rows.length).fill(Number.NaN);
	for (let k = 0; k < rows.length; k += TOGETHER) {
		const end = Math.min(k + TOGETHER, rows.length);
		let [sum_s, passed_s] = [0, 0];
		for (let j = k; j < end; j++) {
			const own_s = interval_s[rows[j]!]!;
			if (!(own_s > 0 && steps[j]! <= GAP * Math.max(usual_s, own_s))) continue;
			sum_s += own_s;
			passed_s += steps[j]!;
		}
		if (passed_s > 0) ratios.fill(sum_s / passed_s, k, end);
	}
	return ratios;
}

/** Wrong intervals in a smaller share of a log, or right ones, are its gaps. */
const FEW = 0.02;

/** Rows whose intervals the times contradict: which, how many times too long these are, and the share of all rows. */
export interface WrongIntervals {
	/** All rows where the contradiction runs through the whole log. */
	rows: number[];
	ratio: number;
	share: number;
}

/** The rows of one machine whose intervals its times contradict; null where these are few. */
export function wrongIntervals(records: Records, rows: ArrayLike<number>): WrongIntervals | null {
	const ratios = intervalRatios(records, rows);
	const wrong = ratios.filter(contradictsTimes);
	const share = wrong.length / ratios.length;
	if (!(share > FEW)) return null;
	const ratio = median(wrong);
	const all = Array.from(rows);
	if (share >= 1 - FEW) return { rows: all, ratio, share: 1 };
	return { rows: all.filter((_, k) => contradictsTimes(ratios[k]!)), ratio, share };
}

/** Whether intervals contradict the times of their rows, by this ratio of them. */
export const contradictsTimes = (ratio: number): boolean => Math.abs(Math.log(ratio)) > APART;
