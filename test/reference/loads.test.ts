import { describe, expect, it } from 'vitest';
import type { LoadBook } from '../../lib/model/index.ts';
import { cartSides, sameWeight } from '../../lib/reference/cart-sides.ts';
import { scaleReference } from '../../lib/reference/index.ts';
import { reported, weighedLoads } from '../../lib/reference/weighed-loads.ts';
import { bookOf, dump, NOON, offload, planOf, ticket } from '../match/hand.ts';

/** Loads named T0, T1 …: what each offload weighed, and its ticket over that; null = no ticket. */
function book(loads: [cart_kg: number, ratio: number | null][]): LoadBook {
	return bookOf(
		loads.map(([kg], i) => dump(`D${i}`, 2 * i, 1000 * i, kg + 10)),
		loads.map(([kg], i) => offload(`L${i}`, 2 * i + 1, 1000 * i + 500, kg, `T${i}`)),
		loads.flatMap(([kg, r], i) =>
			r === null ? [] : [ticket(String(i), 1000 * i + 900, r * kg, { truckLoad: `T${i}` })],
		),
	);
}

describe('truckloads with both weights', () => {
	it('add up their offloads and tickets, and take the last time', () => {
		const b = book([
			[8000, 1.01],
			[9000, 1.012],
			[7000, null],
		]);
		b.offloads.push({ ...offload('L9', 9, 400, 1000, 'T1'), scale: 'west' });
		b.tickets.push(ticket('9', 5000, 100, { truckLoad: 'T1' }));
		const loads = weighedLoads(b);
		expect(loads.map((l) => l.truckLoad)).toEqual(['T0', 'T1', 'T2']);
		const plain = {
			truckLoad: 'T0',
			cart_kg: 8000,
			ticket_kg: 8080,
			used: true,
			reason: null,
			time_s: NOON + 500,
			scale: null,
		};
		expect({ ...loads[0]!, dumps_kg: weighedLoads(book([[8000, 1.01]]))[0]!.dumps_kg }).toEqual({
			...plain,
			rel: Number.NaN,
			side_kg: 0,
			fair: true,
			offload_kg: 8000,
			dumps_kg: 8010,
		});
		expect(loads[1]).toMatchObject({ cart_kg: 10_000, ticket_kg: 9208, scale: 'west', time_s: NOON + 1500 });
		expect(loads[2]).toMatchObject({ ticket_kg: 0, used: false, fair: false, reason: 'no ticket' });
		expect(reported(loads[0]!, 0.002)).toEqual({
			...plain,
			rel: 0.002,
			side_kg: 8000,
		});
	});

	it('have no time where their rows name a day alone', () => {
		const b = book([[8000, 1.01]]);
		b.offloads[0]!.timeGrain = 'day';
		expect(weighedLoads(b)[0]!.time_s).toBeNaN();
	});

	it('whose ticket is in another unit than the others are not used, however many', () => {
		const POUNDS = 2.2046;
		const mixed = weighedLoads(
			book([
				[8000, 1.01],
				[9000, 1.012 * POUNDS],
				[7000, 1.009 * POUNDS],
			]),
		);
		expect(mixed.map((l) => l.used)).toEqual([true, false, false]);
		expect(mixed[1]!.reason).toMatch(/2\.23 times the cart's weight.*pounds/);
		// Where all are, the cart may be; and a tenth more has other causes.
		const all = weighedLoads(
			book([
				[8000, 1.01 * POUNDS],
				[9000, 1.012 * POUNDS],
			]),
		);
		for (const l of all) expect(l.reason).not.toMatch(/pounds/);
		const more = book([
			[8000, 1.01],
			[9000, 1.012],
			[7000, 1.1],
			[7500, 1.011],
		]);
		expect(weighedLoads(more)[2]!.reason).toMatch(/over the cart's weight/);
	});

	it('rows without a truckload are none', () => {
		const b = book([[8000, 1.01]]);
		b.offloads.push(offload('L8', 8, 4000, 500));
		b.tickets.push(ticket('8', 5000, 500));
		expect(weighedLoads(b)).toHaveLength(1);
	});

	it('say why they are not used', () => {
		const b = book([
			[8000, 1.01],
			[8100, 1.01],
			[8200, 1.01],
			[8300, 1.01],
			[8400, 1.031],
			[8500, 0.989],
		]);
		b.tickets[1]!.combine = 'A';
		b.tickets.push(ticket('7', 9000, 8000, { truckLoad: 'T7' }));
		for (const k of [0, 2, 3]) b.offloads[k]!.scale = 'east';
		b.offloads[3]!.scale = 'west';
		const of = new Map(weighedLoads(b).map((l) => [l.truckLoad, l]));
		expect(of.get('T0')!.reason).toBeNull();
		expect(of.get('T1')!.reason).toBe('the truck also took grain straight from a combine');
		expect(of.get('T3')!.reason).toBe('weighed by scale west, which has a ratio of its own');
		expect(of.get('T7')!.reason).toBe('no offload from the cart is entered for it');
		// Four are compared, and the third of them in order is 1.01: 1.031 and 0.989 are 2.1 % off it.
		expect(of.get('T4')).toMatchObject({ used: false, fair: true });
		expect(of.get('T4')!.reason).toMatch(
			/^the ticket is 2\.1% over the cart's weight; possible cause: grain from elsewhere/,
		);
		expect(of.get('T5')!.reason).toMatch(/^the ticket is 2\.1% under the cart's weight; possible cause: some of/);
	});

	it('of another scale check that scale, each against the others of its own', () => {
		const b = book([1, 1.01, 1.005, 1.008, 1.045, 1.05, 1.7].map((r, k) => [8000 + 100 * k, r]));
		b.offloads.forEach((o, k) => {
			o.scale = k < 4 ? 'east' : 'west';
		});
		const { loads, ratio, n } = scaleReference({ book: b, plan: planOf(['A']) });
		expect(n).toBe(4);
		expect(loads.map((l) => l.other ?? false)).toEqual([false, false, false, false, true, true, false]);
		expect(1 + loads[4]!.rel).toBeCloseTo(1.045 / ratio, 2);
		expect(loads[6]!.rel).toBeNaN();
	});

	it('that differ by what scales do are used; of two only what cannot be is set aside', () => {
		const near = weighedLoads(
			book([
				[8000, 1.01],
				[8100, 1.0295],
				[8200, 0.9905],
			]),
		);
		expect(near.every((l) => l.used)).toBe(true);
		const two = weighedLoads(
			book([
				[8000, 1.16],
				[8100, 1.14],
			]),
		);
		expect(two.map((l) => l.used)).toEqual([false, true]);
		expect(weighedLoads(book([[8000, 0.84]]))[0]!.used).toBe(false);
	});

	it('of two groups of one size, as around a failure of the scale, the one nearer to 1 is used', () => {
		const ratios = [0.992, 0.993, 1.322, 1.323];
		const loads = weighedLoads(book(ratios.map((r, i) => [8000 + i, r])));
		expect(loads.map((l) => l.used)).toEqual([true, true, false, false]);
		const later = weighedLoads(book([0.992, 1.321, 1.322, 1.323].map((r, i) => [8000 + i, r])));
		expect(later.map((l) => l.used)).toEqual([false, true, true, true]);
	});

	it('the main scale is that of most tickets; without scales of offloads, that of most dumps', () => {
		const b = book([
			[8000, null],
			[8100, null],
			[8200, 1.01],
		]);
		b.offloads[0]!.scale = b.offloads[1]!.scale = 'east';
		b.offloads[2]!.scale = 'west';
		expect(weighedLoads(b)[2]).toMatchObject({ used: true, reason: null });
	});
});

describe('the dumps behind each offload', () => {
	it('are shared out over the offloads until the cart is empty', () => {
		const dumps = [dump('D0', 0, 0, 6000), dump('D1', 1, 100, 6030)];
		const offloads = [offload('L0', 2, 200, 9000), offload('L1', 3, 300, 3000)];
		const [a, b] = cartSides(bookOf(dumps, offloads));
		expect(a).toBeCloseTo((12_030 / 12_000) * 9000, 9);
		expect(b).toBeCloseTo((12_030 / 12_000) * 3000, 9);
	});

	it('are unknown where the two do not come to the same, and the next start anew', () => {
		expect(sameWeight(10_000)).toBe(40 + 0.012 * 10_000);
		const dumps = [dump('D0', 0, 0, 6000), dump('D1', 2, 400, 5000)];
		const over = bookOf(dumps, [offload('L0', 1, 200, 6000 + sameWeight(6000) + 1), offload('L1', 3, 600, 5000)]);
		expect([...cartSides(over)]).toEqual([Number.NaN, 5000]);
		const just = bookOf(dumps, [offload('L0', 1, 200, 6000 + sameWeight(6000)), offload('L1', 3, 600, 5000)]);
		expect([...cartSides(just)]).toEqual([6000, 5000]);
	});

	it('a rest in the cart goes into the next truck', () => {
		const dumps = [dump('D0', 0, 0, 6000), dump('D1', 2, 400, 5000)];
		const b = bookOf(dumps, [offload('L0', 1, 200, 4000), offload('L1', 3, 600, 7000)]);
		expect([...cartSides(b)]).toEqual([4000, 7000]);
	});
});
