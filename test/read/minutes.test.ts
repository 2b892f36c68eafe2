import { describe, expect, it } from 'vitest';
import { emptyRecords } from '../../lib/model/index.ts';
import { Growing } from '../../lib/read/log/grow.ts';
import { spreadMinutes } from '../../lib/read/log/minutes.ts';

/** Times of rows a second apart from `start_s`, as a spreadsheet saves them, spread again. */
function spread(start_s: number, count: number, interval_s = 1, shown = (t: number) => 60 * Math.floor(t / 60)) {
	const records = { ...emptyRecords(count), combines: ['A'] };
	for (let i = 0; i < count; i++) records.time_s[i] = shown(start_s + i * interval_s);
	records.interval_s.fill(interval_s);
	const notes: { text: string }[] = [];
	spreadMinutes({ growing: new Growing(records), notes } as never, 'a.csv');
	return { times: Array.from(records.time_s), said: notes.map((n) => n.text).join() };
}

describe('times without seconds', () => {
	it('are spread over each minute as they were, whenever the log began', () => {
		for (const start_s of [600, 637]) {
			const { times, said } = spread(start_s, 200);
			expect(times).toEqual(Array.from({ length: 200 }, (_, i) => start_s + i));
			expect(said).toMatch(/a\.csv: its times hold no seconds/);
		}
		expect(spread(600, 90, 2).times).toEqual(Array.from({ length: 90 }, (_, i) => 600 + 2 * i));
	});

	it('stand as they are where there are seconds, where a row is of one minute, or where the hours are missing too', () => {
		const exact = spread(600, 200, 1, (t) => t);
		expect(exact.times[7]).toBe(607);
		expect(spread(600, 50, 60).times).toEqual(Array.from({ length: 50 }, (_, i) => 600 + 60 * i));
		expect(spread(86_400, 500, 1, () => 86_400).times.every((t) => t === 86_400)).toBe(true);
		for (const other of [exact, spread(600, 50, 60)]) expect(other.said).toBe('');
	});

	it('do not run into the next minute where rows are more than there should be', () => {
		const { times } = spread(600, 400, 1, (t) => 600 + 60 * Math.floor((t - 600) / 80));
		for (let i = 1; i < times.length; i++) expect(times[i]! > times[i - 1]!).toBe(true);
		expect(Math.max(...times)).toBeLessThan(600 + 60 * 5);
	});
});
