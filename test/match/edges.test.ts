import { describe, expect, it } from 'vitest';
import { matchField } from '../../lib/match/index.ts';
import type { LoadBook, Records } from '../../lib/model/index.ts';
import { bookOf, dump, inputOf, offload, recordsOf, ticket } from './hand.ts';

const run = (records: Records, book: LoadBook) => matchField(inputOf(records, book));

const dumps = [dump('D1', 0, 900, 7000), dump('D2', 1, 1800, 7100, { combines: ['A'] })];

describe('whatever the log and the book hold, every dump gets its row', () => {
	const cases: [string, Records, LoadBook][] = [
		['no records at all', recordsOf([]), bookOf(dumps)],
		[
			'a combine without any record',
			{ ...recordsOf([{ name: 'A', from_s: 0, to_s: 2000, flow: () => 8 }]), combines: ['A', 'B'] },
			bookOf(dumps),
		],
		['no flow in any record', recordsOf([{ name: 'A', from_s: 0, to_s: 2000, flow: () => Number.NaN }]), bookOf(dumps)],
		['one dump', recordsOf([{ name: 'A', from_s: 0, to_s: 900, flow: () => 8 }]), bookOf([dumps[0]!])],
		[
			'dumps of another year',
			recordsOf([{ name: 'A', from_s: 0, to_s: 2000, flow: () => 8 }]),
			bookOf(dumps.map((d) => ({ ...d, time_s: d.time_s - 4e7 }))),
		],
		[
			'offloads and no dumps',
			recordsOf([{ name: 'A', from_s: 0, to_s: 2000, flow: () => 8 }]),
			bookOf([], [offload('L1', 0, 900, 7000)]),
		],
		[
			'tickets and no mass',
			recordsOf([{ name: 'A', from_s: 0, to_s: 2000, flow: () => 0 }]),
			bookOf([], [], [ticket('1', 900, 7000)]),
		],
		[
			'a combine of which there is no log',
			recordsOf([{ name: 'A', from_s: 0, to_s: 2000, flow: () => 8 }]),
			bookOf([dump('D1', 0, 900, 7000, { combines: ['Z'] })]),
		],
		[
			'one weight of two combines, one of them without a log',
			recordsOf([{ name: 'A', from_s: 0, to_s: 2000, flow: () => 8 }]),
			bookOf([dump('D1', 0, 900, 7000, { combines: ['A', 'Z'] })]),
		],
		[
			'many dumps of the same second',
			recordsOf([{ name: 'A', from_s: 0, to_s: 2000, flow: () => 8 }]),
			bookOf(Array.from({ length: 12 }, (_, i) => dump(`D${i}`, i, 900, 7000))),
		],
	];

	it.each(cases)('%s', (_, records, book) => {
		const match = run(records, book);
		expect(match.fates.map((f) => f.dump)).toEqual(book.dumps.map((_, i) => i));
		for (const f of match.fates) {
			// What is not believed says why.
			if (f.status === 'aside') expect(f.reason).toMatch(/\w{3}/);
			for (const u of f.unloadings) expect(match.unloadings[u]!.dump).toBe(f.dump);
		}
		for (const u of match.unloadings) {
			expect(u.to).toBeGreaterThanOrEqual(u.from);
			expect(Number.isFinite(u.account_kg)).toBe(true);
			expect(Number.isFinite(u.rest_kg)).toBe(true);
		}
	});

	it('unloadings of a combine follow each other and hold its records once', () => {
		const records = recordsOf([
			{ name: 'A', from_s: 0, to_s: 4000, flow: () => 8 },
			{ name: 'B', from_s: 0, to_s: 4000, flow: () => 7 },
		]);
		const match = run(
			records,
			bookOf([1, 2, 3, 4, 5, 6, 7].map((i) => dump(`D${i}`, i, 500 * i, i % 2 ? 8000 : 7000))),
		);
		for (const c of [0, 1]) {
			let at = 0;
			for (const u of match.unloadings.filter((x) => x.combine === c)) {
				expect(u.from).toBe(at);
				at = u.to;
			}
			expect(at).toBeLessThanOrEqual(4000);
		}
	});
});
