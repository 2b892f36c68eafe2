import { expect, it } from 'vitest';
import { emptyRecords } from '../../lib/model/index.ts';
import { contradictsTimes, intervalRatio } from '../../lib/stats/index.ts';

function ratioOf(times_s: readonly number[], interval_s: number): number {
	const records = emptyRecords(times_s.length);
	records.time_s.set(times_s);
	records.interval_s.fill(interval_s);
	return intervalRatio(
		records,
		times_s.map((_, i) => i),
	);
}
const upTo = (n: number, step_s = 1) => Array.from({ length: n }, (_, k) => k * step_s);

it('intervals over the time between rows', () => {
	expect(ratioOf(upTo(100), 1)).toBe(1);
	expect(ratioOf(upTo(100), 2)).toBe(2);
	expect(ratioOf(upTo(100, 5), 1)).toBe(0.2);
	// Breaks between passes, and a log faster than its time stamps.
	expect(
		ratioOf(
			upTo(100).map((t) => t + 30 * Math.floor(t / 25)),
			1,
		),
	).toBe(1);
	expect(ratioOf(upTo(200, 0.5).map(Math.floor), 0.5)).toBe(1);
	expect(ratioOf(upTo(20), 2)).toBeNaN();
});

it('contradict the times where they differ by a third or more', () => {
	expect([1, 1.2, 0.8, 2, 0.5, Number.NaN].map(contradictsTimes)).toEqual([false, false, false, true, true, false]);
});
