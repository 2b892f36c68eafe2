import { existsSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { readSources } from '../../lib/formats/index.ts';
import { type Intake, understand } from '../../lib/intake/index.ts';

const folder = new URL('../../../shared/data/', import.meta.url);
const there = existsSync(folder);
if (!there) console.warn('SKIPPED: ../shared/data/ is absent.');

/** An open set as it comes. Its README, beside it, names source, license and the sums below. */
async function intakeOf(...names: string[]): Promise<Intake> {
	const sources = names.map((name) => ({
		name,
		async *chunks() {
			yield readFileSync(new URL(name, folder));
		},
	}));
	return understand(await readSources(sources));
}

describe.skipIf(!there)('open logs as they come', () => {
	it('barley-2015: stamps of 0.864 s, bushels of 60 lb, one second a record', async () => {
		const { report } = await intakeOf('barley-2015.zip');
		expect(report.fields.map((f) => [f.crop, f.combines.length, f.combines[0]?.records])).toEqual([
			['barley', 1, 31_062],
		]);
		expect(report.fields[0]?.combines[0]?.monitor_kg).toBeCloseTo(182_716.9, 0);
		expect(report.sources[0]?.notes.join(' ')).toContain('bushels of 60 lb');
		expect(report.fields[0]?.questions.filter((q) => q.blocking)).toEqual([]);
	});

	it('wheat-2018: three logs in one file, two at a time, times from starts and durations', async () => {
		const { report } = await intakeOf('wheat-2018.zip');
		const combines = report.fields[0]?.combines ?? [];
		expect(combines.map((c) => [c.name, c.records, c.monitor_kg])).toEqual([
			['233342', 11_171, 106_871.8],
			['236596', 10_373, 83_087.5],
			['236597', 9732, 76_446],
		]);
		// 18/07/18-15:13:58 and 15:16:35, local time of the place (Mountain, daylight saving).
		expect(combines.map((c) => c.start?.slice(0, 16))).toEqual([
			'2018-07-18T19:08',
			'2018-07-18T21:13',
			'2018-07-18T21:16',
		]);
		expect(report.fields[0]?.crop).toBe('wheat');
	});

	it('mankato-corn: what its names and values say, and one thing to check', async () => {
		const { report } = await intakeOf('mankato-corn.csv');
		const read = new Map(report.sources[0]?.columns.map((c) => [c.column, `${c.as} ${c.unit}`]));
		expect(Object.fromEntries(read)).toMatchObject({
			mass: 'flow lb/s',
			dist: 'distance in',
			swath: 'swath in',
			seconds: 'interval s',
			moist: 'moisture %',
		});
		// "mass" is a flow here; for soybeans it would be each record's.
		expect(report.fields[0]?.questions.map((q) => [q.about, q.blocking])).toEqual([
			['time', false],
			['unit of mass', false],
		]);
		expect(report.fields[0]?.crop).toBe('corn');
	});

	it('task data: five fields with their boundaries, mass within 0.5 %, area within 3 % of the machine’s counters', async () => {
		const { report } = await intakeOf('task-data.zip');
		expect(report.fields.length).toBe(5);
		expect(report.fields.every((f) => f.boundary)).toBe(true);
		const kg = [259_618, 242_481, 91_885, 167_911, 99_312];
		const ha = [4.83, 4.05, 1.95, 3.01, 1.8];
		report.fields.forEach((f, k) => {
			expect(Math.abs((f.combines[0]?.monitor_kg as number) / (kg[k] as number) - 1)).toBeLessThan(0.005);
			expect(Math.abs((f.combines[0]?.area_ha as number) / (ha[k] as number) - 1)).toBeLessThan(0.03);
			expect(f.questions.map((q) => q.about)).toEqual(['crop']);
		});
	});
});
