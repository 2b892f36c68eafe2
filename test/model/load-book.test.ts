import { describe, expect, test } from 'vitest';
import {
	added_kg,
	cartSteps,
	type Dump,
	type LoadBook,
	nextOffload,
	type Offload,
	stepsByCart,
	type TimeGrain,
} from '../../lib/model/index.ts';

const DAY_S = 86_400;

interface Row {
	kg: number;
	time_s?: number;
	grain?: TimeGrain;
	scale?: string | null;
}

/** A book from its rows in the file's order: dumps positive, offloads negative. */
function bookOf(rows: Row[]): LoadBook {
	const entries = rows.map(({ kg, time_s = Number.NaN, grain = 'second', scale = null }, order) => ({
		id: `${order + 1}`,
		order,
		time_s,
		timeGrain: grain,
		weight_kg: Math.abs(kg),
		dumped: kg > 0,
		scale,
	}));
	return {
		dumps: entries.filter((e) => e.dumped) as unknown as Dump[],
		offloads: entries.filter((e) => !e.dumped) as unknown as Offload[],
		tickets: [],
	} as unknown as LoadBook;
}

/** The rows' numbers in the file, from 1, in the order of the steps. */
const idsOf = (book: LoadBook, steps = cartSteps(book)) =>
	steps.map(({ dump, offload }) => (dump >= 0 ? book.dumps[dump]! : book.offloads[offload]!).id).join(' ');

describe('rows of a cart log as they happened', () => {
	test('each step names its dump or its offload, the other being −1', () => {
		const steps = cartSteps(
			bookOf([
				{ kg: 5000, time_s: 10 },
				{ kg: -5000, time_s: 20 },
				{ kg: 6000, time_s: 30 },
			]),
		);
		expect(steps).toEqual([
			{ dump: 0, offload: -1, key_s: 10 },
			{ dump: -1, offload: 0, key_s: 20 },
			{ dump: 1, offload: -1, key_s: 30 },
		]);
	});

	test('by time, and by the file where times are equal', () => {
		expect(
			idsOf(
				bookOf([
					{ kg: 1, time_s: 30 },
					{ kg: -1, time_s: 10 },
					{ kg: 1, time_s: 10 },
					{ kg: 1, time_s: 20 },
				]),
			),
		).toBe('2 3 4 1');
	});

	test('a row without a time stays behind the one before it', () => {
		expect(idsOf(bookOf([{ kg: 1 }, { kg: 1, time_s: 30 }, { kg: -1 }, { kg: 1, time_s: 10 }, { kg: 1 }]))).toBe(
			'1 4 5 2 3',
		);
	});

	test('a row of a day keeps its place among that day’s rows, and comes after those of the day before', () => {
		const at = (day: number, s: number) => 20_000 * DAY_S + day * DAY_S + s;
		const day = (n: number): Row => ({ kg: 1, time_s: at(n, 0), grain: 'day' });
		expect(idsOf(bookOf([{ kg: 1, time_s: at(0, 5000) }, day(0), { kg: 1, time_s: at(0, 9000) }]))).toBe('1 2 3');
		expect(idsOf(bookOf([{ kg: 1, time_s: at(0, 5000) }, day(1), { kg: 1, time_s: at(0, 9000) }]))).toBe('1 3 2');
		expect(idsOf(bookOf([{ kg: 1, time_s: at(1, 5000) }, day(0), { kg: 1, time_s: at(1, 9000) }]))).toBe('2 1 3');
	});

	test('by cart where every row names its scale', () => {
		const rows: Row[] = [
			{ kg: 1, time_s: 1, scale: 'a' },
			{ kg: 1, time_s: 2, scale: 'b' },
			{ kg: -1, time_s: 3, scale: 'a' },
			{ kg: -1, time_s: 4, scale: 'b' },
		];
		const book = bookOf(rows);
		expect(stepsByCart(book).map((steps) => idsOf(book, steps))).toEqual(['1 3', '2 4']);
		const unnamed = bookOf(rows.with(2, { ...rows[2]!, scale: null }));
		expect(stepsByCart(unnamed).map((steps) => idsOf(unnamed, steps))).toEqual(['1 2 3 4']);
		const one = bookOf(rows.map((row) => ({ ...row, scale: 'a' })));
		expect(stepsByCart(one)).toHaveLength(1);
	});
});

test('the next offload with the dumps before it', () => {
	const book = bookOf([5000, 4000, 3000, -7000, 2000].map((kg, i) => ({ kg, time_s: i })));
	const steps = cartSteps(book);
	expect(nextOffload(book, steps, 0)).toEqual({ dumped_kg: 7000, offload_kg: 7000 });
	expect(nextOffload(book, steps, 2)).toEqual({ dumped_kg: 0, offload_kg: 7000 });
	expect(nextOffload(book, steps, 3)).toBeNull();
});

test('what each dump added to a cart that fills up', () => {
	expect(added_kg([5000, 9000, 4000, 4000])).toEqual([5000, 4000, 4000, 4000]);
	expect(added_kg([5000, 9000], 1000)).toEqual([4000, 4000]);
	expect(added_kg([5000, 9000], 6000)).toEqual([5000, 4000]);
});
