import { beforeAll, describe, expect, it } from 'vitest';
import { type Result, runField } from '../../lib/index.ts';
import { littleField } from '../commands/little.ts';
import { folder } from '../read/folder.ts';

/** What should scale scales, and nothing else moves: relations between whole runs that hold whatever is true. */

type Files = Record<string, string>;
const base = littleField() as Files;
const run = async (files: Files): Promise<Result> => (await runField(folder(files), { grid: false })).result;

/** A table's cells of some columns, changed. */
function cells(text: string, columns: readonly string[], change: (cell: string, column: string) => string): string {
	const [head, ...rows] = text.trimEnd().split('\n') as [string, ...string[]];
	const names = head.split(',');
	const lines = rows.map((row) =>
		row
			.split(',')
			.map((cell, k) => (columns.includes(names[k] as string) && cell !== '' ? change(cell, names[k] as string) : cell))
			.join(','),
	);
	return [head, ...lines, ''].join('\n');
}
const times = (factor: number) => (cell: string) => String(Number(cell) * factor);
const plan = (change: (json: Record<string, unknown>) => void): string => {
	const json = JSON.parse(base['field.json'] as string) as Record<string, unknown>;
	change(json);
	return JSON.stringify(json);
};

const weighed = (a: number): Files => ({
	...base,
	'cart.csv': cells(base['cart.csv'] as string, ['weight_kg'], times(a)),
	'tickets.csv': cells(base['tickets.csv'] as string, ['net_kg'], times(a)),
});
const flowing = (b: number): Files => ({ ...base, 'A.csv': cells(base['A.csv'] as string, ['flow_kg_s'], times(b)) });

/** What a run found, apart from times and masses. */
const shape = (r: Result) => ({
	dumps: r.dumps.map(({ id, combine, status, fill }) => [id, combine, status, fill]),
	records: r.combines.A?.records,
	fills: r.combines.A?.fills,
	form: r.combines.A?.factor?.form,
	flags: r.flags.map(({ flag, records }) => [flag, records]),
});
const factorOf = (r: Result) => r.combines.A?.factor?.value as number;

describe('whole runs against each other', () => {
	let was: Result;
	beforeAll(async () => {
		was = await run(base);
	});
	const close = (a: number | null | undefined, b: number | null | undefined, rel: number) =>
		expect(Math.abs((a as number) / (b as number) - 1), `${a} against ${b}`).toBeLessThan(rel);

	// Three dumps know the factor to 3 % and weigh several clocks: within a third of that. A day of dumps: scaling.test.ts.
	const FEW = 0.01;
	it.each([0.95, 1.05])('weights × %f: the factor scales with them, and what it corrects', async (a) => {
		const now = await run(weighed(a));
		expect(shape(now)).toEqual(shape(was));
		close(factorOf(now), a * factorOf(was), FEW);
		close(now.totals.corrected_kg, a * was.totals.corrected_kg, FEW);
		close(now.totals.monitor_kg, was.totals.monitor_kg, 1e-12);
		close(now.totals.area_ha, was.totals.area_ha, 1e-12);
		close(now.reference.ratio, was.reference.ratio, 1e-9);
	});

	it.each([0.95, 1.05])('flow × %f: the factor scales against it, what is corrected stays', async (b) => {
		const now = await run(flowing(b));
		expect(shape(now)).toEqual(shape(was));
		close(factorOf(now), factorOf(was) / b, FEW);
		close(now.totals.corrected_kg, was.totals.corrected_kg, FEW);
		close(now.totals.monitor_kg, b * was.totals.monitor_kg, 1e-9);
	});

	it('time + c: times move, nothing else', async () => {
		const c_s = 2 * 86_400 + 3600;
		const later = (cell: string) => new Date(Date.parse(cell) + c_s * 1000).toISOString();
		const now = await run({
			...base,
			...Object.fromEntries(
				['A.csv', 'cart.csv', 'tickets.csv'].map((n) => [n, cells(base[n] as string, ['time'], later)]),
			),
		});
		expect(shape(now)).toEqual(shape(was));
		close(factorOf(now), factorOf(was), 1e-6);
		expect(now.clock.offset_s).toBeCloseTo(was.clock.offset_s as number, 3);
		now.dumps.forEach(({ end }, k) => {
			expect(Date.parse(end as string) - Date.parse(was.dumps[k]?.end as string)).toBeCloseTo(c_s * 1000, -1);
		});
	});

	it('place + d: nothing moves but places', async () => {
		const now = await run({
			...base,
			'A.csv': cells(base['A.csv'] as string, ['lat', 'lon'], (cell, column) =>
				(Number(cell) + (column === 'lat' ? 0.0002 : 0.003)).toFixed(7),
			),
		});
		expect(shape(now)).toEqual(shape(was));
		close(factorOf(now), factorOf(was), 1e-4);
		close(now.totals.area_ha, was.totals.area_ha, 1e-3);
	});

	it('another name: the same under it', async () => {
		const now = await run({
			...base,
			'field.json': plan((json) => {
				json.logs = [{ file: 'A.csv', combine: 'Zeta' }];
				json.combines = { Zeta: { swath_m: 6, tank_kg: 6000 } };
			}),
			'cart.csv': cells(base['cart.csv'] as string, ['combine'], () => 'Zeta'),
		});
		expect(now.combines.Zeta?.factor?.value).toBe(was.combines.A?.factor?.value);
		expect(now.totals).toEqual(was.totals);
	});

	it('rows in any order: the same masses and factor', async () => {
		const [head, ...rows] = (base['A.csv'] as string).trimEnd().split('\n') as [string, ...string[]];
		const shuffled = rows.map((row, k) => [Math.sin(k * 7919), row] as const).sort((a, b) => a[0] - b[0]);
		const now = await run({ ...base, 'A.csv': [head, ...shuffled.map((s) => s[1]), ''].join('\n') });
		expect(shape(now)).toEqual(shape(was));
		close(factorOf(now), factorOf(was), 1e-6);
		close(now.totals.monitor_kg, was.totals.monitor_kg, 1e-12);
	});

	it('a log in two files: the same as in one', async () => {
		const [head, ...rows] = (base['A.csv'] as string).trimEnd().split('\n') as [string, ...string[]];
		const now = await run({
			...base,
			'A.csv': [head, ...rows.slice(0, 400), ''].join('\n'),
			'A2.csv': [head, ...rows.slice(400), ''].join('\n'),
			'field.json': plan((json) => {
				json.logs = [
					{ file: 'A.csv', combine: 'A' },
					{ file: 'A2.csv', combine: 'A' },
				];
			}),
		});
		expect(shape(now)).toEqual(shape(was));
		close(factorOf(now), factorOf(was), 1e-9);
	});

	it('other units, said in the mapping: the same', async () => {
		const now = await run({
			...base,
			'A.csv': cells(
				cells(cells(base['A.csv'] as string, ['flow_kg_s'], times(1 / 0.45359237)), ['distance_m'], times(1 / 0.3048)),
				['swath_m'],
				times(1 / 0.0254),
			),
			'field.json': plan((json) => {
				const columns = {
					flow: { column: 'flow_kg_s', unit: 'lb/s' },
					distance: { column: 'distance_m', unit: 'ft' },
					swath: { column: 'swath_m', unit: 'in' },
				};
				json.logs = [{ file: 'A.csv', combine: 'A', columns }];
			}),
			'cart.csv': cells(base['cart.csv'] as string, ['weight_kg'], times(1 / 0.45359237)).replace(
				'weight_kg',
				'weight_lb',
			),
		});
		expect(shape(now)).toEqual(shape(was));
		close(factorOf(now), factorOf(was), 1e-6);
		close(now.totals.area_ha, was.totals.area_ha, 1e-6);
	});
});
