import { describe, expect, it } from 'vitest';
import { exportField, mergeBooks, scaleRatio } from '../../lib/book/index.ts';
import type { Source } from '../../lib/model/index.ts';
import { readField } from '../../lib/read/index.ts';
import { scaleReference } from '../../lib/reference/index.ts';
import { dump, ground, truckLoad, Writer } from './build.ts';
import { dayBook } from './day.ts';

const LOG = `time,lat,lon,flow_kg_s,interval_s,distance_m,swath_m,moisture_pct
2026-10-07T14:00:00Z,42.000000,-93.600000,8,1,2,9,18
2026-10-07T14:00:01Z,42.000018,-93.600000,8,1,2,9,18
`;

function source(name: string, text: string): [string, Source] {
	return [
		name,
		{
			name,
			async *chunks() {
				yield new TextEncoder().encode(text);
			},
		},
	];
}

/** Cuts a field from the book and reads it back as the command line would. */
async function readBack(w: Writer, field: string) {
	const files = exportField(w.book, field, [{ file: 'a.csv', combine: 'A' }]);
	const folder = new Map([...Object.entries(files).map(([n, t]) => source(n, t)), source('a.csv', LOG)]);
	return readField(folder);
}

describe('a field cut from the book', () => {
	it('reads back row by row, as the contract has it', async () => {
		const w = dayBook();
		const field = await readBack(w, 'f');
		expect(field.setAside.filter((s) => s.file !== 'a.csv')).toEqual([]);
		expect(field.book.dumps).toHaveLength(30);
		expect(field.book.offloads).toHaveLength(10);
		expect(field.book.tickets).toHaveLength(4);
		expect(field.book.dumps[0]).toMatchObject({
			id: 'D1',
			combines: ['B'],
			emptied: -1,
			scale: 'Cart',
			field: 'Day field',
		});
		expect(field.plan).toMatchObject({ name: 'Day field', season: 2026, timeZone: 'UTC' });
	});

	it('gives the library the ratio that the tablet shows, and its interval', async () => {
		const w = dayBook();
		const { book, plan } = await readBack(w, 'f');
		const theirs = scaleReference({ book, plan });
		const ours = scaleRatio(w.book, 'c', 2026);
		// The files are to the gram.
		expect(ours.ratio).toBeCloseTo(theirs.ratio, 6);
		expect(ours.interval[0]).toBeCloseTo(theirs.interval[0], 6);
		expect(ours.interval[1]).toBeCloseTo(theirs.interval[1], 6);
		expect(ours.n).toBe(theirs.n);
	});

	it('brings along what shares a truck with it, each dump under its own field', async () => {
		const w = ground(new Writer());
		w.add('field', { name: 'South, "lower"', season: 2026, crop: 'corn' }, 'south');
		dump(w, 'A', 6000, null, { note: 'late\nand wet' });
		dump(w, 'B', 4000, null, { field: 'south', split: { north: 0.25 } });
		truckLoad(w, '1', 10_000, 10_100);
		dump(w, 'B', 7000, null, { field: 'south' });
		truckLoad(w, '2', 7000, null);
		const { book, setAside } = await readBack(w, 'north');
		expect(setAside.filter((s) => s.file !== 'a.csv')).toEqual([]);
		expect(book.dumps.map((d) => [d.field, d.weight_kg])).toEqual([
			['North Forty', 6000],
			['South, "lower"', 3000],
			['North Forty', 1000],
		]);
		expect(book.dumps[0]!.note).toBe('late\nand wet');
		expect(book.offloads.map((o) => [o.weight_kg, o.truckLoad])).toEqual([[10_000, '1']]);
		expect(book.tickets).toHaveLength(1);
	});

	it('tells of recalibrations and of what a buyer takes off', async () => {
		const w = ground(new Writer());
		dump(w, 'A', 6000, null);
		w.add('event', { combine: 'A', kind: 'calibrated', field: 'north', time_s: Date.UTC(2026, 9, 7, 15) / 1000 });
		w.add('destination', { name: 'Mill', shrink_pct_per_point: 1.4, handling_pct: 0.5 });
		const { plan } = await readBack(w, 'north');
		expect(plan.events).toMatchObject([{ combine: 'A', kind: 'calibrated', time_s: Date.UTC(2026, 9, 7, 15) / 1000 }]);
		expect(plan.destinations.Mill).toEqual({ shrink_pct_per_point: 1.4, handling_pct: 0.5 });
	});

	it('leaves out what is struck out', async () => {
		const w = dayBook();
		const first = [...w.book.entries].find((e) => e.kind === 'dump')!.thing;
		w.strike(first);
		expect((await readBack(w, 'f')).book.dumps).toHaveLength(29);
	});

	it('gives two tablets that both had a dump 1 two names', async () => {
		const start = ground(new Writer());
		const a = new Writer('cart', start.now_s, start.book);
		const b = new Writer('cab', start.now_s + 5000, start.book);
		const row = { number: 'D1', cart: 'cart', field: 'north', combines: ['A'] };
		a.add('dump', { ...row, net_kg: 6000 });
		b.add('dump', { ...row, net_kg: 7000 });
		const w = new Writer('x', 0, mergeBooks(a.book, b.book));
		const ids = (await readBack(w, 'north')).book.dumps.map((d) => d.id);
		expect(new Set(ids).size).toBe(2);
	});
});
