import { describe, expect, it } from 'vitest';
import { timeline } from '../../../lib/factor/chain/timeline.ts';
import { type Account, emptyRecords, inTimeOrder, type Unloading } from '../../../lib/model/index.ts';
import { plainMatch } from '../../plain.ts';
import { unloadingsOf } from './hand.ts';

interface Log {
	/** Mass of each record, kg. */
	kg: number[];
	/** Ends of the records, seconds; every ten where not given. */
	ends?: number[];
	combines?: number[];
	flow?: number[];
	/** Half-open ranges of the unloadings, by combine. */
	unloadings?: [number, number][];
	of?: number[];
	events?: number[];
	interval_s?: number;
}

function cut({ kg, ends, combines, flow, unloadings = [], of, events = [], interval_s = 10 }: Log) {
	const records = emptyRecords(kg.length);
	records.combines = ['A', 'B'].slice(0, 1 + Math.max(0, ...(combines ?? [])));
	records.combine.set(combines ?? kg.map(() => 0));
	records.time_s.set(ends ?? kg.map((_, i) => 10 * (i + 1)));
	records.interval_s.fill(interval_s);
	const made: Unloading[] = unloadingsOf(of ?? unloadings.map(() => 0)).map((u, i) => ({
		...u,
		from: unloadings[i]![0],
		to: unloadings[i]![1],
	}));
	return timeline({
		records,
		account: { account_kg: Float64Array.from(kg) } as Account,
		match: plainMatch({ unloadings: made }),
		// As they stand where times are missing.
		orders: records.combines.map((_, c) =>
			ends?.some(Number.isNaN) ? Int32Array.from(kg.keys()) : inTimeOrder(records, c),
		),
		flow: Float64Array.from(flow ?? kg.map(() => 2)),
		events,
	});
}
const five = (n: number) => Array<number>(n).fill(5);
const ranges = ({ segments }: ReturnType<typeof cut>) => segments.map((s) => [s.combine, s.unloading, s.from, s.to]);
/** Mass, start and end of each piece. */
const pieces = (found: ReturnType<typeof cut>) =>
	found.segments.flatMap((s) => s.pieces.map((p) => [p.kg, p.start_s, p.end_s]));

describe('a combine’s records, cut', () => {
	it('into one segment per unloading, and one for each stretch between and after', () => {
		const found = cut({
			kg: five(8),
			unloadings: [
				[0, 4],
				[5, 7],
			],
		});
		expect(ranges(found)).toEqual([
			[0, 0, 0, 4],
			[0, -1, 4, 5],
			[0, 1, 5, 7],
			[0, -1, 7, 8],
		]);
		expect([...found.ofUnloading]).toEqual([0, 2]);
		expect(found.account_kg).toEqual([40]);
		expect(found.segments.map((s) => s.account_kg)).toEqual([20, 5, 10, 5]);
	});

	it('in order of the records, each of them once', () => {
		const found = cut({
			kg: five(8),
			unloadings: [
				[3, 7],
				[0, 4],
				[2, 4],
				[5, 5],
			],
		});
		expect(ranges(found)).toEqual([
			[0, 1, 0, 4],
			[0, 0, 4, 7],
			[0, -1, 7, 8],
		]);
		expect([...found.ofUnloading]).toEqual([1, 0, -1, -1]);
		const first = cut({
			kg: five(4),
			unloadings: [
				[0, 4],
				[0, 2],
			],
		});
		expect(ranges(first)).toEqual([
			[0, 1, 0, 2],
			[0, 0, 2, 4],
		]);
	});

	it('for each combine on its own', () => {
		const combines = [0, 1, 0, 1, 1];
		const found = cut({
			kg: [1, 2, 4, 8, 16],
			combines,
			unloadings: [
				[0, 2],
				[0, 1],
			],
			of: [1, 0],
		});
		expect(ranges(found)).toEqual([
			[0, 1, 0, 1],
			[0, -1, 1, 2],
			[1, 0, 0, 2],
			[1, -1, 2, 3],
		]);
		expect(found.segments.map((s) => s.account_kg)).toEqual([1, 4, 10, 16]);
		expect(found.account_kg).toEqual([5, 26]);
	});
});

describe('a segment, cut into pieces', () => {
	it('at half of its mass', () => {
		expect(pieces(cut({ kg: five(4) }))).toEqual([
			[10, 0, 20],
			[10, 20, 40],
		]);
		expect(pieces(cut({ kg: [15, 5, 5, 5] }))).toEqual([
			[15, 0, 10],
			[15, 10, 40],
		]);
		// The record that goes past the half is of the first piece.
		expect(pieces(cut({ kg: [10, 15, 5] }))).toEqual([
			[25, 0, 20],
			[5, 20, 30],
		]);
		expect(pieces(cut({ kg: [5] }))).toEqual([[5, 0, 10]]);
	});

	it('at a pause of more than 500 s', () => {
		expect(pieces(cut({ kg: five(4), ends: [10, 20, 530, 540] })).length).toBe(2);
		expect(pieces(cut({ kg: [5, 30, 5], ends: [10, 521, 531] }))).toEqual([
			[5, 0, 10],
			[30, 511, 521],
			[5, 521, 531],
		]);
		expect(pieces(cut({ kg: [5, 30, 5], ends: [10, 520, 530] }))).toEqual([
			[35, 0, 520],
			[5, 520, 530],
		]);
	});

	it('at a moment when the factor may change, between the middles of two records', () => {
		const at = (...events: number[]) => pieces(cut({ kg: [5, 5, 5, 25], events })).map(([, start]) => start);
		expect(at()).toEqual([0]);
		expect(at(14)).toEqual([0, 10]);
		expect(at(15)).toEqual([0, 10]);
		expect(at(5)).toEqual([0]);
		expect(at(5.1)).toEqual([0, 10]);
		expect(at(15.1, 26)).toEqual([0, 20, 30]);
		expect(at(99, 12)).toEqual([0, 10]);
		expect(at(-5)).toEqual([0]);
	});

	it('with the mass’s mean time and its flow', () => {
		const [piece] = cut({ kg: [1, 3], flow: [4, 2], ends: [1000, 1010] }).segments[0]!.pieces;
		expect(piece).toEqual({ kg: 4, kg_flow: 10, time_s: 1007.5, start_s: 990, end_s: 1010 });
		const [some] = cut({ kg: [1, 3], flow: [Number.NaN, 2] }).segments[0]!.pieces;
		expect(some!.kg_flow).toBe(6);
		expect(cut({ kg: [1, 3], flow: [-1, 0] }).segments[0]!.pieces[0]!.kg_flow).toBe(0);
		// Without an interval a record is a moment.
		expect(pieces(cut({ kg: [1, 3], interval_s: Number.NaN }))).toEqual([[4, 10, 20]]);
	});

	it('without records of no mass; those without a time are of their neighbors’ piece', () => {
		expect(pieces(cut({ kg: [5, 0, 5, 0] }))).toEqual([
			[5, 0, 10],
			[5, 20, 30],
		]);
		expect(cut({ kg: [0, Number.NaN] }).segments[0]).toMatchObject({ pieces: [], account_kg: 0 });
		expect(pieces(cut({ kg: [2, 5, 20, 0, 9], ends: [10, Number.NaN, 30, Number.NaN, 50] }))).toEqual([
			[27, 0, 30],
			[9, 40, 50],
		]);
		const first = cut({ kg: [2, 5, 20], ends: [Number.NaN, 20, 30], flow: [3, 3, 3] });
		expect(pieces(first)).toEqual([[27, 10, 30]]);
		expect(first.segments[0]!.pieces[0]!.kg_flow).toBe(75);
		expect(pieces(cut({ kg: [2, 5], ends: [Number.NaN, Number.NaN] }))).toEqual([[7, Number.NaN, Number.NaN]]);
	});

	it('of which none lies before the one it follows', () => {
		// A record that ends earlier than the one before it, as two clocks of one log may have it.
		const found = cut({ kg: [1, 1, 8], ends: [10, 30, 30] });
		expect(pieces(found)[0]!.slice(1)).toEqual([0, 30]);
	});
});
