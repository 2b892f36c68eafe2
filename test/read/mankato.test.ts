import { readFileSync } from 'node:fs';
import papa from 'papaparse';
import { describe, expect, test } from 'vitest';
import type { Records } from '../../lib/model/index.ts';
import { readField } from '../../lib/read/index.ts';
import { cropNamed, dryWeight, POUND_KG, toShown } from '../../lib/units/index.ts';
import { OPEN_LOG_COLUMNS as columns, OPEN_LOG, openLogThere as there } from '../open-log.ts';
import { folder } from './folder.ts';

/** Seconds that the log gives a row, without those of a lost one. */
const ownSeconds = (records: Records, i: number): number => records.interval_s[i]! - (records.lost_s?.[i] ?? 0);

describe.skipIf(!there)('the open Mankato log through its mapping', () => {
	const text = there ? readFileSync(OPEN_LOG, 'utf8') : '';
	const rows = papa.parse<Record<string, number>>(text, {
		header: true,
		dynamicTyping: true,
		skipEmptyLines: true,
	}).data;
	const read = (log: object = { columns }) =>
		readField(
			folder({
				'field.json': JSON.stringify({ crop: 'corn', logs: [{ file: 'm.csv', combine: 'A', ...log }] }),
				'm.csv': text,
			}),
		);

	test('every record is there and none is set aside', async () => {
		const { records, setAside, notes } = await read();
		expect(records.n).toBe(4949);
		expect(rows.length).toBe(4949);
		expect(setAside).toEqual([]);
		// The log has nothing where the header was up at a turn, though grain still ran (rows 541 to 542, say).
		expect(notes).toEqual([{ level: 'caution', text: expect.stringMatching(/^m\.csv: 5 gaps of 189 s in all/) }]);
	});

	test('two records step back in time and are records in the file’s order', async () => {
		const { records } = await read();
		const since = Date.parse('2011-11-05T17:38:03Z') / 1000;
		expect(Array.from(records.time_s, (t) => t - since)).toEqual(rows.map((row) => row.time));
		let back = 0;
		for (let i = 1; i < records.n; i++) if ((records.time_s[i] as number) < (records.time_s[i - 1] as number)) back++;
		expect(back).toBe(2);
	});

	test('monitor mass is the plain sum', async () => {
		const { records } = await read();
		let mass_kg = 0;
		for (let i = 0; i < records.n; i++) mass_kg += (records.flow_kg_s[i] as number) * ownSeconds(records, i);
		const plain = rows.reduce((sum, row) => sum + (row.mass as number) * (row.seconds as number), 0) * POUND_KG;
		expect(Math.abs(mass_kg / plain - 1)).toBeLessThan(1e-12);
	});

	test('each record’s yield is its documentation’s formula over dist × swath', async () => {
		const { records, plan } = await read();
		const corn = cropNamed('corn');
		expect(plan.crop).toEqual(corn);
		let worst = 0;
		for (let i = 0; i < records.n; i++) {
			const row = rows[i] as Record<'mass' | 'seconds' | 'moist' | 'dist' | 'swath', number>;
			// Dry bushels of 56 lb over acres, as the data's documentation has it.
			const bushels = (row.mass * row.seconds * (100 - row.moist)) / (100 - 15.5) / 56;
			const theirs = bushels / ((row.dist * row.swath) / 6_272_640);
			const wet_kg = (records.flow_kg_s[i] as number) * ownSeconds(records, i);
			const area_ha = ((records.distance_m[i] as number) * (records.swath_m[i] as number)) / 10_000;
			const ours = toShown(
				dryWeight(wet_kg, records.moisture_pct[i] as number, 15.5) / area_ha,
				'yield',
				'us',
				plan.crop,
			);
			if (Number.isFinite(theirs) && theirs > 0) worst = Math.max(worst, Math.abs(ours / theirs - 1));
			else expect(ours).toBe(theirs);
		}
		// The contract's bushel is 56 lb rounded to the gram: 25.401 / 25.401 172 72 is 6.8e-6 off.
		expect(worst).toBeLessThan(1e-5);
	});

	test('as yield in bu/ac, dry at 15.5 %, the same flow comes out', async () => {
		const { records } = await read();
		const withYield = rows.map((row) => {
			const { mass, seconds, moist, dist, swath } = row as Record<string, number> & typeof row;
			const area_ac = ((dist as number) * (swath as number)) / 6_272_640;
			const bushel_lb = 25.401 / POUND_KG;
			const dry_bu = ((mass as number) * (seconds as number) * (100 - (moist as number))) / 84.5 / bushel_lb;
			return [row.long, row.lat, dry_bu / area_ac, row.time, seconds, dist, moist].join(',');
		});
		const { flow: _, ...others } = columns;
		const mapping = {
			...others,
			elevation: undefined,
			yield: { column: 'y', unit: 'bu/ac', basis: 'dry', at_pct: 15.5 },
			swath: { value: 360, unit: 'in' },
		};
		const narrow = rows.map((row) => (row.swath as number) !== 360);
		const given = await readField(
			folder({
				'field.json': JSON.stringify({ crop: 'corn', logs: [{ file: 'm.csv', combine: 'A', columns: mapping }] }),
				'm.csv': `long,lat,y,time,seconds,dist,moist\n${withYield.join('\n')}\n`,
			}),
		);
		expect(given.records.n).toBe(4949);
		for (let i = 0; i < 4949; i++) {
			if (narrow[i] || !((rows[i]?.dist as number) > 0)) continue;
			expect(given.records.flow_kg_s[i]).toBeCloseTo(records.flow_kg_s[i] as number, 9);
		}
	});
});
