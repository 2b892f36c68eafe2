import { describe, expect, it } from 'vitest';
import { deductions, rightWeights } from '../../../lib/match/problem/deduced.ts';
import { readObservations } from '../../../lib/match/problem/observations.ts';
import type { LoadBook } from '../../../lib/model/index.ts';
import { bookOf, dump, exactReference, inputOf, NOON, offload, recordsOf, ticket } from '../hand.ts';

const records = recordsOf(['A', 'B'].map((name) => ({ name, from_s: 0, to_s: 100, flow: () => 8 })));
const HOUR = 3600;
/** More than any tank gives at once. */
const MOST_KG = 12_000;
/** What a book shows beside its dumps; the cart reads 4 % low. */
const shown = (book: LoadBook, most_kg = MOST_KG) =>
	deductions(book, records, { ...exactReference, ratio: 1.04 }, most_kg);

describe('what the cart’s level shows', () => {
	/** A cart log: dumps above zero, offloads below, an hour apart. */
	const log = (kg: number[], scale = (_: number): string | null => null): LoadBook =>
		bookOf(
			kg.flatMap((w, i) => (w > 0 ? [{ ...dump(`D${i}`, i, i * HOUR, w), scale: scale(i) }] : [])),
			kg.flatMap((w, i) => (w < 0 ? [{ ...offload(`L${i}`, i, i * HOUR, -w), scale: scale(i) }] : [])),
		);

	it('is nothing where offloads are what was dumped, but for the scale’s error', () => {
		expect(shown(log([6000, 7000, -13_100, 8000, -7950]))).toEqual([]);
	});

	it('is a dump not saved where more was taken out than came in', () => {
		const [found, ...more] = shown(log([8000, -8000, 6000, -13_000, 5000, -5000]));
		expect(more).toEqual([]);
		expect(found).toMatchObject({ kind: 'unsaved', combine: -1, ticket: -1 });
		expect(found!.kg).toBeCloseTo(7000 * 1.04, 9);
		// Since the cart was empty, until it was emptied.
		expect([found!.from_s, found!.to_s]).toEqual([NOON + HOUR, NOON + 3 * HOUR]);
		// 60 kg and 1.2 % of what went through are two standard deviations.
		expect(found!.variance).toBeCloseTo(((60 + 0.012 * 6000) / 2) ** 2, 9);
	});

	it('is a weight too high where the next truck took its own dumps alone', () => {
		const [found, ...more] = shown(log([6000, 9000, -13_000, 6500, 6500, -13_000]));
		expect(more).toEqual([]);
		expect(found).toMatchObject({ kind: 'excess', from_s: -Infinity, to_s: NOON + 2 * HOUR });
		expect(found!.kg).toBeCloseTo(-2000 * 1.04, 9);
	});

	it('is a weight too high in each load that left something in the cart for good', () => {
		const found = shown(log([6000, 9000, -12_000, 9500, 6500, -13_000, 6500, 6500, -13_000]));
		expect(found.map((d) => [d.kind, Math.round(d.kg)])).toEqual([
			['excess', -3120],
			['excess', -3120],
		]);
		expect(found.map((d) => [d.from_s, d.to_s])).toEqual([
			[-Infinity, NOON + 2 * HOUR],
			[NOON + 2 * HOUR, NOON + 5 * HOUR],
		]);
		// What a later truck took of it did not stay.
		const partly = shown(log([6000, 9000, -12_000, 5500, 6500, -14_000, 6500, 6500, -13_000]));
		expect(partly.map((d) => [d.kind, Math.round(d.kg), d.to_s])).toEqual([['excess', -1040, NOON + 2 * HOUR]]);
	});

	it('is nothing where the rest went into the next truck', () => {
		expect(shown(log([6000, 9000, -13_000, 6500, 6500, -15_000]))).toEqual([]);
		// The last truck of the log: nobody knows.
		expect(shown(log([6000, 9000, -13_000]))).toEqual([]);
	});

	it('is of each cart by itself', () => {
		const kg = [6000, 8000, -6000, -8000];
		expect(shown(log(kg))).toHaveLength(0);
		const scale = (i: number) => (i % 2 === 0 ? 'red' : 'green');
		expect(shown(log(kg, scale))).toHaveLength(0);
		// Exchanged, each has 2 t too many or too few; only where there was too little is it known.
		const other = (i: number) => (i === 0 || i === 3 ? 'red' : 'green');
		expect(shown(log(kg, other)).map((d) => [d.kind, Math.round(d.kg)])).toEqual([['unsaved', 2080]]);
	});

	it('moves with the clock, and does not depend on the order of rows', () => {
		const book = log([8000, -8000, 6000, -13_000]);
		const [found] = shown(book);
		const day = 86_400;
		const later = <T extends { time_s: number }>(rows: T[]) => rows.map((r) => ({ ...r, time_s: r.time_s + day }));
		const [moved] = shown({ ...book, dumps: later(book.dumps), offloads: later(book.offloads) });
		expect(moved).toEqual({ ...found, from_s: found!.from_s + day, to_s: found!.to_s + day });
		expect(shown({ ...book, dumps: book.dumps.toReversed(), offloads: book.offloads.toReversed() })).toEqual([found]);
	});
});

describe('what tickets show', () => {
	const dumps = [dump('D1', 0, 0, 9000)];
	const offloads = [offload('L1', 1, 600, 9000, 'T1')];

	it('is grain straight from the combine that they name', () => {
		const [found, ...more] = shown(bookOf(dumps, offloads, [ticket('7', HOUR, 20_000, { combine: 'B' })]));
		expect(more).toEqual([]);
		// The truck was loaded within four hours before.
		expect(found).toMatchObject({ kind: 'straight', combine: 1, kg: 20_000, ticket: 0, to_s: NOON + HOUR });
		expect(found!.from_s).toBe(NOON - 3 * HOUR);
		expect(found!.variance).toBeCloseTo(40 ** 2 + 100, 9);
	});

	it('is what the cart did not bring to the truck', () => {
		const both = ticket('7', HOUR, 20_000, { combine: 'A', truckLoad: 'T1' });
		const [found] = shown(bookOf(dumps, offloads, [both]));
		expect(found!.kg).toBeCloseTo(20_000 - 9000 * 1.04, 9);
		expect(found!.variance).toBeCloseTo(40 ** 2 + 54 ** 2 + 100, 9);
	});

	it('is a truckload that the cart knows nothing of, unless it is more than a tank gives', () => {
		const other = bookOf(dumps, offloads, [ticket('7', HOUR, 9000, { truckLoad: 'T2' })]);
		expect(shown(other)).toMatchObject([{ kind: 'straight', combine: -1, kg: 9000 }]);
		expect(shown(other, 8000)).toEqual([]);
	});

	it.each([
		['the cart’s own truckload', bookOf(dumps, offloads, [ticket('7', HOUR, 9360, { truckLoad: 'T1' })])],
		['a ticket that names neither combine nor truckload', bookOf(dumps, offloads, [ticket('7', HOUR, 9000)])],
		['a combine of which there is no log', bookOf(dumps, offloads, [ticket('7', HOUR, 9000, { combine: 'Z' })])],
		['tickets where nothing was dumped', bookOf([], [], [ticket('7', HOUR, 9000, { combine: 'A' })])],
		[
			'truckloads where no offload has a number',
			bookOf(dumps, [offload('L1', 1, 600, 9000)], [ticket('7', HOUR, 9000, { truckLoad: 'T2' })]),
		],
	])('is nothing: %s', (_, book) => {
		expect(shown(book)).toEqual([]);
	});

	it('is of some time on that day, or of any, as its time is known', () => {
		const of = (timeGrain: 'day' | 'none', time_s: number) =>
			shown(bookOf(dumps, [], [{ ...ticket('7', 0, 9000, { combine: 'A' }), timeGrain, time_s }]))[0]!;
		const day = of('day', NOON - 12 * HOUR);
		expect([day.from_s, day.to_s]).toEqual([NOON - 12 * HOUR, NOON + 12 * HOUR]);
		const any = of('none', Number.NaN);
		expect([any.from_s, any.to_s]).toEqual([-Infinity, Infinity]);
	});
});

describe('what a dump should have weighed', () => {
	const found = {
		combine: -1,
		variance: 400,
		from_s: NOON,
		to_s: NOON + HOUR,
		ticket: -1,
		kg: -2000,
	};
	const observation = (t: number, pins = {}) =>
		readObservations(
			inputOf(records, bookOf([dump('D', 0, t, 9000)]), {
				plan: { ...inputOf(records, bookOf([])).plan, pins },
			}),
		).observations[0]!;

	it('is its weight and what its cart load lacks, at no cost where another row must be wrong else', () => {
		const s = observation(600);
		expect(rightWeights([{ ...found, kind: 'excess' }], s)).toEqual([{ kg: 7000, u2: s.u2 + 400, cost: 0 }]);
		expect(rightWeights([{ ...found, kind: 'unsaved', kg: 2000 }], s)).toEqual([
			{ kg: 11_000, u2: s.u2 + 400, cost: 2.5 },
		]);
	});

	it('is as written in other cart loads, where a ticket tells of other grain, and where the user has decided', () => {
		expect(rightWeights([{ ...found, kind: 'excess' }], observation(HOUR + 61))).toEqual([]);
		expect(rightWeights([{ ...found, kind: 'excess' }], observation(-61))).toEqual([]);
		expect(rightWeights([{ ...found, kind: 'straight' }], observation(600))).toEqual([]);
		expect(
			rightWeights([{ ...found, kind: 'excess' }], observation(600, { dumps: { D: { status: 'used' } } })),
		).toEqual([]);
	});
});
