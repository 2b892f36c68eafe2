import { describe, expect, it } from 'vitest';
import { timeCell } from '../../lib/formats/text/time-cell.ts';
import { dateOrder } from '../../lib/intake/time/order.ts';
import { seeded } from '../../lib/stats/random.ts';
import { type Column, flow, lat, length, lon, moisture, time, write } from './dialect.ts';
import { cut, massOf, type Row } from './field.ts';
import { csvOf, intakeOf } from './read.ts';

const columns: Column[] = [
	lat(),
	lon(),
	flow.kg('flow_kg_s'),
	length.m('distance_m', 'distance'),
	length.m('swath_m', 'swath'),
	moisture('moisture_pct'),
];
const a = cut();

describe('seconds of a record from times', () => {
	it('a beat behind coarse stamps is its mean', async () => {
		// Day numbers to 1e-5 day: steps of 0.864 s.
		const coarse = { ...(time.sheetDay('Time')[0] as Column), digits: 5 };
		const done = intakeOf({ 'log.csv': write(a, [coarse, ...columns]) }, { crop: 'corn' });
		const rows = await csvOf(done, 0, 'log-2.csv').catch(() =>
			csvOf(done, 0, done.fields[0]?.files[1]?.name as string),
		);
		expect(new Set(rows.map((r) => r.interval_s))).toEqual(new Set(['1']));
		expect((done.report.fields[0]?.combines[0]?.monitor_kg ?? 0) / massOf(a)).toBeCloseTo(1, 3);
	});

	it('a logger that writes when something changes covers all since the record before', () => {
		const random = seeded(3);
		const rows: Row[] = [];
		let interval = 0;
		for (const row of a) {
			interval++;
			if (random.uniform() < 0.25) continue;
			rows.push({ ...row, interval, distance: row.distance * interval });
			interval = 0;
		}
		const done = intakeOf({ 'log.csv': write(rows, [...time.iso(), ...columns]) }, { crop: 'corn' });
		// The first record's seconds cannot be known.
		expect(Math.abs((done.report.fields[0]?.combines[0]?.monitor_kg ?? 0) / massOf(rows) - 1)).toBeLessThan(0.01);
	});

	it('a pause is no record’s time', () => {
		const late = a.map((r, i) => (i < 200 ? r : { ...r, time: r.time + 3000 }));
		const done = intakeOf({ 'log.csv': write(late, [...time.iso(), ...columns]) }, { crop: 'corn' });
		expect((done.report.fields[0]?.combines[0]?.monitor_kg ?? 0) / massOf(a)).toBeCloseTo(1, 3);
	});
});

describe('a date and time in a cell', () => {
	const order = 'month first';
	const read = (text: string) => {
		const c = timeCell(text);
		if (!c) return null;
		const [m, d] = (c.order ?? order) === 'month first' ? [c.a, c.b] : [c.b, c.a];
		return [c.year, m, d, c.clock_s, c.offset_s].map((v) => (Number.isNaN(v) ? null : v));
	};
	it.each([
		['2026-10-08T13:05:00Z', [2026, 10, 8, 47_100, 0]],
		['2026-10-08 13:05:00.5', [2026, 10, 8, 47_100.5, null]],
		['2026-10-08T13:05:00-05:00', [2026, 10, 8, 47_100, -18_000]],
		['2026/10/08 13:05', [2026, 10, 8, 47_100, null]],
		['10/8/2026 1:05 PM', [2026, 10, 8, 47_100, null]],
		['10/8/2026 12:05:00 AM', [2026, 10, 8, 300, null]],
		['10/8/26 1:05:07 p.m.', [2026, 10, 8, 47_107, null]],
		['18.10.2026 13:05:00', [2026, 10, 18, 47_100, null]],
		['8 October 2026 13:05', [2026, 10, 8, 47_100, null]],
		['Oct 8, 2026 1:05 PM', [2026, 10, 8, 47_100, null]],
		['Thu Oct 8, 2026 13:05:00 CDT', [2026, 10, 8, 47_100, -18_000]],
		['8-Okt-2026 13:05', [2026, 10, 8, 47_100, null]],
		['20261008T130500', [2026, 10, 8, 47_100, null]],
		['18/07/18-15:16:35 (236597)', [2018, 7, 18, 54_995, null]],
		['13:05:00', [null, null, null, 47_100, null]],
		['10/8/2026', [2026, 10, 8, null, null]],
	])('%s', (text, wanted) => {
		expect(read(text)).toEqual(wanted);
	});
	it.each(['', 'corn', '25:10', '13/13/2026', '0/5/2026', '44.1234', '1:75', '13:05 XM 99'])(
		'%s is none, or no date',
		(text) => {
			const c = timeCell(text);
			expect(c === null || Number.isNaN(c.year)).toBe(true);
		},
	);
	it('keeps what else stands in it', () => {
		expect(timeCell('18/07/18-15:16:35 (236597)')?.rest).toBe('236597');
	});
});

describe('day and month', () => {
	const of = (...dates: string[]) => dateOrder(dates.map(timeCell));
	it('are decided by a number above 12', () => {
		expect(of('10/8/2026', '10/13/2026')).toMatchObject({ order: 'month first', sure: 1 });
		expect(of('8/10/2026', '13/10/2026')).toMatchObject({ order: 'day first', sure: 1 });
	});
	it('are decided by days that follow on each other', () => {
		expect(of('9/8/2026', '10/8/2026', '11/8/2026')?.order).toBe('day first');
		expect(of('8/9/2026', '8/10/2026', '8/11/2026')?.order).toBe('month first');
	});
	it('are told by no date that can be read one way only', () => {
		expect(of('2026-10-14', '2026-10-15')?.because).not.toContain('12');
		const list = new TextEncoder().encode('date,event,weight_kg\n10/8/2026,dump,6200\n');
		const done = intakeOf({ 'log.csv': write(a, [...time.iso(), ...columns]), 'cart.csv': list }, { crop: 'corn' });
		expect(done.fields[0]?.blocking.map((q) => q.about)).toEqual(['date order']);
	});
	it('are in doubt where nothing speaks', () => {
		expect(of('10/8/2026')?.sure).toBeLessThan(0.95);
		expect(of('10/8/2026 1:05 PM')?.sure).toBeLessThan(0.95);
	});
});
