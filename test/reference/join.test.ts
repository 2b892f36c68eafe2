import { describe, expect, it } from 'vitest';
import type { LoadBook, Ticket } from '../../lib/model/index.ts';
import { joinTickets } from '../../lib/reference/index.ts';
import { bookOf, offload, ticket } from '../match/hand.ts';

const KG = [13_000, 13_600, 12_500, 13_300, 12_900, 14_100];
/** Offloads every ten minutes. */
const offloads = (kgs = KG) => kgs.map((kg, i) => offload(`L${i}`, i, 600 * i, kg));
/** A ticket of some of them, 25 minutes after the last. */
const of = (loads: number[], id: number, more: Partial<Ticket> = {}) =>
	ticket(String(id), 600 * loads.at(-1)! + 1500, 1.03 * loads.reduce((sum, l) => sum + KG[l]!, 0), more);
const names = (b: LoadBook) => joinTickets(b).offloads.map((o) => o.truckLoad);
const none = KG.map(() => null);

describe('tickets without a load number', () => {
	it('join in order of time, whatever their rows’ order; at one time, in that of the rows', () => {
		const tickets = [of([4], 9), of([0], 5), of([2], 7)];
		expect(names(bookOf([], offloads(), tickets))).toEqual(['ticket 5', null, 'ticket 7', null, 'ticket 9', null]);
		// All three were saved in the same minute: the rows' order tells.
		const together = [of([4], 3), of([2], 1), of([3], 2)].map((t) => ({ ...t, time_s: offloads()[5]!.time_s + 1500 }));
		expect(names(bookOf([], offloads(), together))).toEqual([null, null, 'ticket 1', 'ticket 2', 'ticket 3', null]);
	});

	it('rows that carry a number, and tickets of a combine, are left alone', () => {
		const tickets = [of([0], 1), of([1], 2, { truckLoad: 'T9' }), of([2], 3, { combine: 'A' }), of([3], 4)];
		const b = bookOf([], offloads(), tickets);
		b.offloads[4]!.truckLoad = 'T8';
		b.offloads[5]!.truckLoad = 'T9';
		const joined = joinTickets(b);
		expect(joined.offloads.map((o) => o.truckLoad)).toEqual(['ticket 1', null, null, 'ticket 4', 'T8', 'T9']);
		expect(joined.tickets.map((t) => t.truckLoad)).toEqual(['ticket 1', 'T9', null, 'ticket 4']);
		expect(joined.dumps).toBe(b.dumps);
		expect(b.tickets[0]!.truckLoad).toBeNull();
		// Nothing to join: the book itself.
		const named = bookOf([], [offload('L0', 0, 0, 9000, 'T')], [of([0], 1)]);
		expect(joinTickets(named)).toBe(named);
		const told = bookOf([], offloads(), [of([1], 2, { truckLoad: 'T9' })]);
		expect(joinTickets(told)).toBe(told);
	});

	it('join a numbered load as a whole, and take its number', () => {
		const numbered = offloads().map((o, i) => ({ ...o, truckLoad: `T${i >> 1}` }));
		const joined = joinTickets(bookOf([], numbered, [of([0, 1], 5), of([2, 3], 6), of([4, 5], 7)]));
		expect(joined.tickets.map((t) => t.truckLoad)).toEqual(['T0', 'T1', 'T2']);
		expect(joined.offloads.map((o) => o.truckLoad)).toEqual(['T0', 'T0', 'T1', 'T1', 'T2', 'T2']);
		// Half of a load, or one load and half of another, is no truckload.
		expect(joinTickets(bookOf([], numbered, [of([0], 5), of([4], 6)])).tickets.map((t) => t.truckLoad)).toEqual([
			null,
			null,
		]);
		expect(joinTickets(bookOf([], numbered, [of([1, 2, 3], 5)])).tickets[0]!.truckLoad).toBeNull();
	});

	it('numbers of an elevator’s own say nothing, where three tickets and more fit', () => {
		const numbered = offloads().map((o, i) => ({ ...o, truckLoad: `T${i}` }));
		const own = (loads: number[]) => loads.map((l) => of([l], l, { truckLoad: `${881 + l}` }));
		const loadsOf = (tickets: Ticket[]) => joinTickets(bookOf([], numbered, tickets)).tickets.map((t) => t.truckLoad);
		expect(loadsOf(own([0, 2, 5]))).toEqual(['T0', 'T2', 'T5']);
		expect(loadsOf(own([0, 2]))).toEqual(['881', '883']);
		// One number of the cart log's: they are its numbers.
		expect(loadsOf([...own([0, 2, 5]), of([4], 4, { truckLoad: 'T4' })])).toEqual(['881', '883', '886', 'T4']);
	});

	it('one that fits in several places stays alone', () => {
		expect(names(bookOf([], offloads(), [of([3], 1)]))).toEqual(none);
		const apart = [13_000, 9_000, 18_000].map((kg, i) => offload(`L${i}`, i, 600 * i, kg));
		expect(names(bookOf([], apart, [ticket('1', 2000, 1.03 * 9_000)]))).toEqual([null, 'ticket 1', null]);
	});

	it('of one truck filled by two to four offloads, not by more', () => {
		const two = bookOf([], offloads(), [of([0, 1], 1), of([2, 3, 4, 5], 2)]);
		expect(names(two)).toEqual(['ticket 1', 'ticket 1', 'ticket 2', 'ticket 2', 'ticket 2', 'ticket 2']);
		expect(names(bookOf([], offloads(), [of([0, 1, 2, 3, 4], 1)]))).toEqual(none);
	});

	it.each<[string, number, number, boolean]>([
		['a minute after the offload and less', 60, 1.03, false],
		['a little more', 61, 1.03, true],
		['just under four hours', 4 * 3600 - 1, 1.03, true],
		['four hours', 4 * 3600, 1.03, false],
		['7 % over the cart, hardly', 1500, 1.0699, true],
		['more than that', 1500, 1.0701, false],
		['7 % under it', 1500, 0.9301, true],
		['less than that', 1500, 0.9299, false],
	])('%s', (_, after_s, ratio, joins) => {
		const b = bookOf([], [offload('L0', 0, 0, 10_000)], [ticket('1', after_s, ratio * 10_000)]);
		expect(names(b)).toEqual([joins ? 'ticket 1' : null]);
	});

	it('to the minute is time enough; a day is none, and the hour is then not asked', () => {
		const early = (grain: Ticket['timeGrain']) =>
			bookOf([], [offload('L0', 0, 3000, 10_000)], [ticket('1', 0, 10_300, { timeGrain: grain })]);
		expect(names(early('minute'))).toEqual([null]);
		expect(names(early('day'))).toEqual(['ticket 1']);
		const b = early('second');
		b.offloads[0]!.timeGrain = 'day';
		expect(names(b)).toEqual(['ticket 1']);
	});

	it('without times three in order are needed; with one missing, too', () => {
		const untimed = (loads: number[]) =>
			loads.map((l, i) => of([l], i, { time_s: Number.NaN, timeGrain: 'none', order: i }));
		expect(names(bookOf([], offloads(), untimed([1, 4])))).toEqual(none);
		expect(names(bookOf([], offloads(), untimed([1, 3, 4])))).toEqual([
			null,
			'ticket 0',
			null,
			'ticket 1',
			'ticket 2',
			null,
		]);
		expect(names(bookOf([], offloads(), [of([0], 8), ...untimed([4]).slice(0, 1)]))).toEqual(none);
	});

	it('six of ten have to fit', () => {
		const other = (k: number) => ticket(String(k), 600 * k, 40_000);
		const three = [0, 2, 4].map((l) => of([l], l));
		expect(names(bookOf([], offloads(), [...three, other(8), other(9)])).filter(Boolean)).toHaveLength(3);
		expect(names(bookOf([], offloads(), [...three, other(7), other(8), other(9)]))).toEqual(none);
	});

	it('one ratio decides between offloads of nearly the same weight', () => {
		// By weight alone L0 would do for 1.03; two others agree at 1.01.
		const ratio = [ticket('0', 2000, 13_130), ticket('1', 2600, 13_736), ticket('2', 3200, 12_875)];
		const joined = joinTickets(bookOf([], offloads([13_000, 13_600, 12_500]), ratio));
		expect(joined.tickets.map((t) => t.truckLoad)).toEqual(['ticket 0', 'ticket 1', null]);
	});
});
