import { expect, it } from 'vitest';
import { emptyRecords } from '../../lib/model/index.ts';
import { contradictsTimes, intervalRatios, median } from '../../lib/stats/index.ts';

function ratiosOf(times_s: readonly number[], interval_s: number | ((k: number) => number)): Float64Array {
	const records = emptyRecords(times_s.length);
	records.time_s.set(times_s);
	times_s.forEach((_, k) => {
		records.interval_s[k] = typeof interval_s === 'number' ? interval_s : interval_s(k);
	});
	return intervalRatios(
		records,
		times_s.map((_, i) => i),
	);
}
const ratioOf = (...given: Parameters<typeof ratiosOf>) => median(ratiosOf(...given));
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
	expect(ratioOf(upTo(20), 2)).toBe(2);
	expect(ratioOf([5], 2)).toBeNaN();
});

it('where the intervals change within a log, so do the ratios, and a gap is no such change', () => {
	const ratios = ratiosOf(
		upTo(600).map((t) => t + 15 * Math.floor(t / 90)),
		(k) => (k < 300 ? 1 : 2),
	);
	expect(ratios.findIndex(contradictsTimes)).toBeGreaterThan(280);
	expect(ratios.findIndex(contradictsTimes)).toBeLessThan(320);
	expect(ratios.filter(contradictsTimes).length).toBeGreaterThan(280);
	expect([ratios[100], ratios[500]]).toEqual([1, 2]);
});

it('contradict the times where they differ by a third or more', () => {
	expect([1, 1.2, 0.8, 2, 0.5, Number.NaN].map(contradictsTimes)).toEqual([false, false, false, true, true, false]);
});
