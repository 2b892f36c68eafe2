import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Column, type Dialect, flow, lat, length, lon, moisture, time, write, yieldOf } from './dialect.ts';
import { cut, massOf, type Row } from './field.ts';
import { csvOf, intakeOf } from './read.ts';

/** Days that no other order can mean, so that nothing has to be asked. */
const truth = cut({ start: '2026-10-18T18:05:00Z', passes: 5, rows: 40 });

const delimiters = [',', ';', '\t', '|'];
const decimals = ['.', ','] as const;
const encodings = ['utf-8', 'utf-8-bom', 'utf-16le', 'utf-16be', 'windows-1252'] as const;
const times: (() => Column[])[] = [
	() => time.iso(),
	() => time.isoLocal(),
	() => time.us(),
	() => time.german('Date', 'America/Chicago'),
	() => time.twoColumns(),
	() => time.epoch(),
	() => time.epochMs(),
	() => time.packed(),
	() => time.secondsOfDay(),
	() => time.worded(),
	() => time.gpsWeek(),
];
const lengths = ['m', 'ft', 'in', 'cm'] as const;
/** How a column's name tells its unit, if at all. */
const tells = [
	(name: string, _unit: string) => name,
	(name: string, unit: string) => `${name} (${unit})`,
	(name: string, unit: string) => `${name}_${unit.replace('/', '_')}`,
	(name: string, unit: string) => `${name} [${unit}]`,
];

describe('what is written in any dialect reads back', () => {
	it('delimiter × decimal sign × encoding × form of time × units × order of columns', async () => {
		await fc.assert(
			fc.asyncProperty(
				fc.constantFrom(...delimiters),
				fc.constantFrom(...decimals),
				fc.constantFrom(...encodings),
				fc.constantFrom(...times),
				fc.constantFrom(...lengths),
				fc.constantFrom(...lengths),
				fc.constantFrom(...tells),
				fc.constantFrom('none', 'text', 'all'),
				fc.boolean(),
				fc.boolean(),
				fc.infiniteStream(fc.nat(1000)),
				async (delimiter, decimal, encoding, when, distanceUnit, swathUnit, tell, quotes, unitRow, extra, order) => {
					const dialect: Dialect = {
						delimiter,
						decimal: decimal === ',' && delimiter === ',' ? '.' : decimal,
						encoding,
						quotes: quotes as Dialect['quotes'],
						units: unitRow,
					};
					const named = (c: Column): Column => ({ ...c, name: tell(c.name, c.unit ?? '') });
					const us = distanceUnit === 'ft' || distanceUnit === 'in';
					// A flow whose unit nothing tells goes by the custom of the lengths, as a person would read it.
					const grain = us ? flow.lb('Flow') : flow.kg('Flow');
					const columns = [
						...when(),
						lat('Latitude'),
						lon('Longitude'),
						named(length[distanceUnit]('Distance', 'distance')),
						named(
							length[
								us
									? swathUnit === 'm' || swathUnit === 'cm'
										? 'ft'
										: swathUnit
									: swathUnit === 'ft' || swathUnit === 'in'
										? 'm'
										: swathUnit
							]('Swath', 'swath'),
						),
						named(grain),
						moisture('Moisture'),
					];
					if (extra)
						columns.push(
							yieldOf.kg_ha('Yield'),
							{ name: 'Fan speed', cell: () => 800, digits: 0 },
							{ name: 'HDOP', cell: () => 1.2, digits: 1 },
						);
					const keys = columns.map(() => order.next().value as number);
					const shuffled = columns
						.map((c, i) => ({ c, k: keys[i] as number }))
						.sort((a, b) => a.k - b.k)
						.map((o) => o.c);
					const done = intakeOf({ 'log.txt': write(truth, shuffled, dialect) }, { crop: 'corn' });
					expect(done.report.fields.length).toBe(1);
					expect(done.report.fields[0]?.questions.filter((q) => q.blocking).map((q) => q.about)).toEqual([]);
					const name = done.fields[0]?.files.find((f) => f.name.endsWith('.csv'))?.name as string;
					const read = await csvOf(done, 0, name);
					expect(read.length).toBe(truth.length);
					const sum = read.reduce((s, r) => s + Number(r.flow_kg_s) * Number(r.interval_s), 0);
					expect(Math.abs(sum / massOf(truth) - 1)).toBeLessThan(1e-3);
					for (const i of [0, 60, 130, truth.length - 1]) {
						const [r, t] = [read[i] as Record<string, string>, truth[i] as Row];
						expect(Math.abs(Number(r.lat) - t.lat)).toBeLessThan(1e-7);
						expect(Math.abs(Number(r.lon) - t.lon)).toBeLessThan(1e-7);
						expect(Math.abs(Date.parse(r.time as string) / 1000 - t.time)).toBeLessThan(0.51);
						expect(Math.abs(Number(r.distance_m) - t.distance)).toBeLessThan(0.002);
						expect(Math.abs(Number(r.swath_m) - t.swath)).toBeLessThan(0.002);
						expect(Math.abs(Number(r.moisture_pct) - t.moisture)).toBeLessThan(0.001);
					}
				},
			),
			{ seed: 20_261_126, numRuns: Number(process.env.INTAKE_RUNS ?? 60) },
		);
	});
});
