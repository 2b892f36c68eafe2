import { describe, expect, it } from 'vitest';
import { coversOnly } from '../../../lib/factor/chain/chain.ts';
import { isByTruck, isUsable, notedRests, restsCost, withoutRests } from '../../../lib/factor/chain/weights.ts';
import type { FactorInput } from '../../../lib/factor/input.ts';
import type { Weighing } from '../../../lib/model/index.ts';
import { bookOf, dump } from '../../match/hand.ts';
import { plainMatch } from '../../plain.ts';
import { fate, unloadingsOf, weighing } from './hand.ts';

/** Unloadings 0 to 4 of A, 5 of B, of 6 t each; a segment for each. */
const unloadings = unloadingsOf([0, 0, 0, 0, 0, 1]);
const time = {
	segments: unloadings.map((u) => ({ account_kg: u.account_kg })),
	ofUnloading: unloadings.map((_, i) => i),
	account_kg: [30_000, 6000],
} as never;
const match = (weighings: Weighing[], more = {}) => plainMatch({ unloadings, weighings, ...more });

describe('weights that count', () => {
	const all = match([
		weighing([0]),
		weighing([1], { used: false }),
		weighing([2, 3], { used: false }),
		weighing([0], { used: false }),
		weighing([4], { used: false, reference_kg: 0 }),
		weighing([], { used: false }),
		weighing([], { kind: 'total' }),
		weighing([4], { used: false, kind: 'ticket' }),
	]);
	it('are used, above zero, and of grain in these logs', () => {
		expect(all.weighings.map((_, i) => isUsable(all, time, i))).toEqual([
			true,
			false,
			false,
			false,
			false,
			false,
			false,
			false,
		]);
		const total = match([
			weighing([], { kind: 'total', reference_kg: 9 }),
			weighing([0], { reference_kg: Number.NaN }),
		]);
		expect(isUsable(total, time, 0)).toBe(true);
		expect(isUsable(total, { account_kg: [0, 0] } as never, 0)).toBe(false);
		expect(isUsable(total, { account_kg: [0, 1] } as never, 0)).toBe(true);
		expect(isUsable(total, time, 1)).toBe(false);
		expect(isUsable(match([weighing([], { reference_kg: 9 })]), time, 0)).toBe(false);
	});
	it('of one combine alone', () => {
		const some = match([weighing([0, 1]), weighing([0, 5]), weighing([])]);
		expect([0, 1, 2].map((w) => coversOnly(some, w, 0))).toEqual([true, false, false]);
		expect(coversOnly(some, 0, 1)).toBe(false);
	});
	it('by the truckload of a dump set aside', () => {
		const some = match([weighing([0]), weighing([1])], { fates: [fate(0, { byTruck: true }), fate(1)] });
		expect([isByTruck(some, 0), isByTruck(some, 1)]).toEqual([true, false]);
		expect(isByTruck(match([weighing([3])]), 0)).toBe(false);
	});
});

describe('grain left in tanks', () => {
	const dumps = [1, 1, 0, -1, -1, -1].map((emptied, i) => dump(`D${i}`, i, 0, 6000, { emptied: emptied as 0 }));
	const input = { match: match([]), book: bookOf(dumps), records: { combines: ['A', 'B'] } } as unknown as FactorInput;
	const rests = (broad: number[]) =>
		({ kg: Array(8).fill(0), u_kg: unloadings.map((_, i) => (broad.includes(i) ? 2000 : 40)) }) as never;
	it('is noted where the book has a tank as not emptied', () => {
		expect([...notedRests(input)]).toEqual([2]);
		expect(notedRests({ ...input, book: bookOf([]) }).size).toBe(0);
	});
	it('costs by how many of the tank loads without a note it is after', () => {
		const noted = new Set([2]);
		const cost = (broad: number[]) => restsCost(input, rests(broad), noted);
		const none = cost([]);
		// Two of A have no note: one of the two can be either, both can be in one way alone.
		expect(cost([3]) - none).toBeCloseTo(2 * Math.log(2), 9);
		expect(cost([3, 4]) - none).toBeCloseTo(0, 9);
		expect(cost([5]) - none).toBeCloseTo(0, 9);
		expect(cost([3])).toBeCloseTo(cost([4]), 12);
		// A note of an emptied tank is seldom wrong.
		// TANK.noteWrong: 1.8 %.
		expect(cost([0]) - none).toBeCloseTo(2 * Math.log(0.982 / 0.018), 9);
		expect(none).toBeCloseTo(-4 * Math.log(0.982), 9);
		expect(cost([0]) - none).toBeCloseTo(cost([1]) - none, 12);
		// What was noted as left costs nothing.
		expect(cost([2])).toBe(none);
	});
	it('goes from a combine’s tanks, unless it was noted', () => {
		const before = { kg: [1, 2, 3, 4, 5, 6, 7, 8], u_kg: [40, 2000, 2000, 2000, 40, 2000, 500, 600] } as never;
		const after = withoutRests(match([]), before, 0, new Set([2]));
		expect(after.kg).toEqual([1, 0, 3, 0, 5, 6, 0, 8]);
		expect(after.u_kg).toEqual([40, 40, 2000, 40, 40, 2000, 40, 600]);
		expect((before as { kg: number[] }).kg[1]).toBe(2);
		const flowing = match([], { unloadings: unloadings.map((u) => ({ ...u, u_account_kg: 30 })) });
		expect(withoutRests(flowing, before, 0, new Set()).u_kg[1]).toBeCloseTo(50, 9);
	});
});
