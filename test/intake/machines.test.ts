import { describe, expect, it } from 'vitest';
import { type Column, usualColumns, write } from './dialect.ts';
import { cut, massOf, type Row } from './field.ts';
import { csvOf, intakeOf } from './read.ts';

const columns = usualColumns();
const combine: Column = { name: 'Combine', cell: (r) => r.combine };
const crop = { crop: 'corn' };
/** Two machines at work side by side, a swath apart and more. */
const a = cut({ combine: 'A', seed: 1 });
const b = cut({ combine: 'B', seed: 2, east: 8 * 9.144, yield: 8000 });
const byTime = (rows: Row[]) => [...rows].sort((p, q) => p.time - q.time);

describe('several machines in one file', () => {
	const check = (done: ReturnType<typeof intakeOf>, sets: Row[][]) => {
		const found = done.report.fields[0]?.combines ?? [];
		expect(found.map((c) => c.records).sort()).toEqual(sets.map((s) => s.length).sort());
		const masses = found.map((c) => c.monitor_kg).sort((p, q) => p - q);
		const wanted = sets.map(massOf).sort((p, q) => p - q);
		masses.forEach((m, k) => {
			expect(m / (wanted[k] as number)).toBeCloseTo(1, 3);
		});
	};

	it('are told apart by a column', () => {
		const done = intakeOf({ 'log.csv': write(byTime([...a, ...b]), [...columns, combine]) }, crop);
		check(done, [a, b]);
		expect(done.report.fields[0]?.combines.map((c) => c.name).sort()).toEqual(['A', 'B']);
	});

	it('are told apart by motion where they are interleaved', () => {
		const done = intakeOf({ 'log.csv': write(byTime([...a, ...b]), columns) }, crop);
		check(done, [a, b]);
		expect(done.report.fields[0]?.questions.map((q) => q.about)).toContain('combine');
	});

	it('are told apart by motion at half a second’s shift', () => {
		const shifted = b.map((r) => ({ ...r, time: r.time + 0.4 }));
		check(intakeOf({ 'log.csv': write(byTime([...a, ...shifted]), columns) }, crop), [a, shifted]);
	});

	it('are told apart where one follows the other in the file though both ran at one time', () => {
		check(intakeOf({ 'log.csv': write([...a, ...b], columns) }, crop), [a, b]);
	});

	it('are three', () => {
		const c = cut({ combine: 'C', seed: 3, east: 16 * 9.144, yield: 10_000, start: '2026-10-08T18:07:00Z' });
		check(intakeOf({ 'log.csv': write(byTime([...a, ...b, ...c]), columns) }, crop), [a, b, c]);
	});

	it('one machine’s two days are one machine', () => {
		const next = cut({ seed: 4, east: 6 * 9.144, start: '2026-10-09T18:05:00Z' });
		const done = intakeOf({ 'log.csv': write([...a, ...next], columns) }, crop);
		expect(done.report.fields[0]?.combines.map((c) => c.records)).toEqual([a.length + next.length]);
	});

	it('one file each keep the names of their files', () => {
		const done = intakeOf({ 'combine-A.csv': write(a, columns), 'combine-B.csv': write(b, columns) }, crop);
		expect(done.report.fields[0]?.combines.map((c) => c.name).sort()).toEqual(['A', 'B']);
	});

	it('two files of one stem that follow in time are one machine', () => {
		const next = cut({ seed: 4, east: 6 * 9.144, start: '2026-10-09T18:05:00Z' });
		const done = intakeOf(
			{ 'heron 2026-10-08.csv': write(a, columns), 'heron 2026-10-09.csv': write(next, columns) },
			crop,
		);
		expect(done.report.fields[0]?.combines.map((c) => [c.name, c.records])).toEqual([
			['heron', a.length + next.length],
		]);
	});

	it('a stray position makes no machine', () => {
		const stray = a.map((r, i) => (i === 100 ? { ...r, lat: r.lat + 0.01 } : r));
		const done = intakeOf({ 'log.csv': write(stray, columns) }, crop);
		expect(done.report.fields[0]?.combines.length).toBe(1);
	});
});

describe('sections of one header', () => {
	/** Each record as `count` rows side by side. */
	const split = (rows: Row[], count: number): Row[] =>
		rows.flatMap((r) =>
			Array.from({ length: count }, (_, k): Row => {
				const off = ((k + 0.5) / count - 0.5) * r.swath;
				const angle = (r.heading * Math.PI) / 180;
				const east = off * Math.cos(angle);
				const north = -off * Math.sin(angle);
				return {
					...r,
					swath: r.swath / count,
					flow: r.flow / count,
					lat: r.lat + north / 111_200,
					lon: r.lon + east / (111_200 * Math.cos((r.lat * Math.PI) / 180)),
				};
			}),
		);

	for (const count of [2, 4]) {
		it(`${count} rows a time stamp are one record of their joint width and mass`, async () => {
			const done = intakeOf({ 'log.csv': write(split(a, count), columns) }, crop);
			const [one] = done.report.fields[0]?.combines ?? [];
			expect(done.report.fields[0]?.combines.length).toBe(1);
			expect(one?.records).toBe(a.length);
			expect((one?.monitor_kg ?? 0) / massOf(a)).toBeCloseTo(1, 3);
			const rows = await csvOf(done, 0, done.fields[0]?.files[1]?.name as string);
			expect(Number(rows[30]?.swath_m)).toBeCloseTo(9.144, 3);
			expect(Number(rows[30]?.lon)).toBeCloseTo(a[30]?.lon as number, 7);
			expect(Number(rows[30]?.moisture_pct)).toBeCloseTo(a[30]?.moisture as number, 2);
		});
	}

	it('two machines at the same seconds are no sections', () => {
		const done = intakeOf({ 'log.csv': write(byTime([...a, ...b]), columns) }, crop);
		expect(done.report.fields[0]?.combines.length).toBe(2);
	});
});
