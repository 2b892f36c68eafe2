import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readSources } from '../../lib/formats/index.ts';
import { understand } from '../../lib/intake/index.ts';
import { flow, interval, lat, length, lon, moisture, time, write } from './dialect.ts';
import { cut, massOf, type Row } from './field.ts';
import { csvOf } from './read.ts';

const gdal = spawnSync('ogr2ogr', ['--version']).status === 0;
if (!gdal) console.warn('SKIPPED: ogr2ogr is absent.');

const truth = cut({ passes: 4, rows: 40 });
let dir: string;
beforeAll(() => {
	dir = mkdtempSync(join(tmpdir(), 'steelyard-gdal-'));
	const columns = [
		...time.iso(),
		lat(),
		lon(),
		flow.kg('flow_kg_s'),
		interval('interval_s'),
		length.ft('dist_ft', 'distance'),
		length.m('swath_m', 'swath'),
		moisture('moist_pct'),
	];
	writeFileSync(join(dir, 'log.csv'), write(truth, columns));
});
afterAll(() => rmSync(dir, { recursive: true, force: true }));

/** What GDAL makes of the log in another format, as sources. */
function converted(format: string, file: string, options: readonly string[]) {
	const out = mkdtempSync(join(dir, 'out-'));
	const read = ['-oo', 'X_POSSIBLE_NAMES=lon', '-oo', 'Y_POSSIBLE_NAMES=lat', '-oo', 'AUTODETECT_TYPE=YES'];
	execFileSync('ogr2ogr', ['-f', format, join(out, file), join(dir, 'log.csv'), ...read, ...options]);
	return readdirSync(out).map((name) => ({
		name,
		async *chunks() {
			yield readFileSync(join(out, name));
		},
	}));
}

describe.skipIf(!gdal)('a log through GDAL and back', () => {
	it.each([
		['ESRI Shapefile', 'log.shp', ['-a_srs', 'EPSG:4326', '-mapFieldType', 'DateTime=String']],
		[
			'ESRI Shapefile',
			'utm.shp',
			[
				'-mapFieldType',
				'DateTime=String',
				'-s_srs',
				'EPSG:4326',
				'-t_srs',
				'EPSG:32615',
				'-select',
				'time,flow_kg_s,interval_s,dist_ft,swath_m,moist_pct',
			],
		],
		['GPKG', 'log.gpkg', ['-a_srs', 'EPSG:4326']],
		['GeoJSON', 'log.geojson', ['-a_srs', 'EPSG:4326']],
		['CSV', 'again.csv', ['-lco', 'SEPARATOR=SEMICOLON']],
	])('%s %s keeps every record and value', async (format, file, options) => {
		const done = understand(await readSources(converted(format, file, options)), { crop: 'corn' });
		expect(done.report.fields.length, JSON.stringify(done.report.sources)).toBe(1);
		const combine = done.report.fields[0]?.combines[0];
		expect(combine?.records).toBe(truth.length);
		expect((combine?.monitor_kg ?? 0) / massOf(truth)).toBeCloseTo(1, 4);
		const rows = await csvOf(done, 0, done.fields[0]?.files.find((f) => f.name.endsWith('.csv'))?.name as string);
		for (const i of [0, 50, truth.length - 1]) {
			const [r, t] = [rows[i] as Record<string, string>, truth[i] as Row];
			expect(Number(r.lat)).toBeCloseTo(t.lat, 6);
			expect(Number(r.lon)).toBeCloseTo(t.lon, 6);
			expect(Number(r.distance_m)).toBeCloseTo(t.distance, 3);
			expect(Number(r.moisture_pct)).toBeCloseTo(t.moisture, 2);
			expect(Math.abs(Date.parse(r.time as string) / 1000 - t.time)).toBeLessThan(1);
		}
	});
});
