/** Round trips through GDAL: what it writes of a log must read back, every record and every value. */
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { readGeopackage } from '../../lib/formats/database/geopackage.ts';
import type { RawTable } from '../../lib/formats/index.ts';
import { readCrs } from '../../lib/geo/crs.ts';
import { seeded } from '../../lib/stats/random.ts';
import { hurt, readAll } from './sources.ts';

const there = (() => {
	try {
		return execFileSync('ogr2ogr', ['--version']).length > 0;
	} catch {
		return false;
	}
})();
if (!there) console.warn('SKIPPED: ogr2ogr (GDAL) is not installed.');

const folder = mkdtempSync(join(tmpdir(), 'steelyard-gdal-'));
const random = seeded(11);
const N = 300;
/** A log of numbers that are hard to write: long, tiny, negative, missing; and names with accents. */
const rows = Array.from({ length: N }, (_, i) => ({
	lon: -93.5 + i * 1.234567e-5,
	lat: 44.1 + random.uniform() * 0.01,
	flow: i % 50 === 7 ? null : Number((random.uniform() * 40).toFixed(5)),
	moist: Number((12 + random.uniform() * 8).toFixed(2)),
	count: i * 1000 - 3,
	who: ['Heron', 'Möwe', 'Æblerød'][i % 3]!,
}));

/** Writes the log by GDAL in a format, and reads what it wrote, side files and all. */
async function through(format: string, name: string, ...options: string[]) {
	const source = join(folder, 'source.geojson');
	writeFileSync(
		source,
		JSON.stringify({
			type: 'FeatureCollection',
			features: rows.map(({ lon, lat, ...properties }) => ({
				type: 'Feature',
				properties,
				geometry: { type: 'Point', coordinates: [lon, lat] },
			})),
		}),
	);
	const place = mkdtempSync(join(folder, 'out-'));
	execFileSync('ogr2ogr', ['-f', format, join(place, name), source, ...options], { stdio: 'pipe' });
	const files = Object.fromEntries(readdirSync(place).map((f) => [f, new Uint8Array(readFileSync(join(place, f)))]));
	return { files, set: await readAll(files) };
}

function compare(t: RawTable): void {
	expect(t.n).toBe(N);
	const of = (as: string) => t.columns.find((c) => c.as === as)?.numbers;
	let [lon, lat] = [of('lon'), of('lat')];
	if (!lon) {
		const { lon_deg, lat_deg } = readCrs(t.crs!)!.toWgs84(of('x')!, of('y')!);
		[lon, lat] = [lon_deg, lat_deg];
	}
	// A millimeter is 1e-8 of a degree.
	expect(Math.max(...rows.map((r, i) => Math.max(Math.abs(lon[i]! - r.lon), Math.abs(lat![i]! - r.lat))))).toBeLessThan(
		2e-8,
	);
	const column = (name: string) => t.columns.find((c) => c.name === name)!;
	expect(Array.from(column('flow').numbers!)).toEqual(rows.map((r) => r.flow ?? Number.NaN));
	expect(Array.from(column('moist').numbers!)).toEqual(rows.map((r) => r.moist));
	expect(Array.from(column('count').numbers!)).toEqual(rows.map((r) => r.count));
	expect(column('who').text).toEqual(rows.map((r) => r.who));
}

describe.skipIf(!there)('through GDAL', () => {
	it.each([
		['a shapefile', 'ESRI Shapefile', 'log.shp', []],
		['a shapefile in UTM', 'ESRI Shapefile', 'log.shp', ['-t_srs', 'EPSG:26915', '-lco', 'ENCODING=ISO-8859-1']],
		['a shapefile in a state plane, feet', 'ESRI Shapefile', 'log.shp', ['-t_srs', 'EPSG:26851']],
		['a GeoPackage', 'GPKG', 'log.gpkg', []],
		['a GeoPackage in UTM', 'GPKG', 'log.gpkg', ['-t_srs', 'EPSG:32615']],
		['GeoJSON', 'GeoJSON', 'log.geojson', ['-lco', 'COORDINATE_PRECISION=12']],
		['a zipped shapefile', 'ESRI Shapefile', 'log.shz', []],
	])('%s keeps every record and value', async (_, format, name, options) => {
		const { set } = await through(format, name, ...options);
		expect(set.files.filter((f) => f.why !== null)).toEqual([]);
		expect(set.tables).toHaveLength(1);
		compare(set.tables[0]!);
	});

	it.each([
		['comma', 'COMMA'],
		['semicolon', 'SEMICOLON'],
		['tab', 'TAB'],
	])('CSV by %s keeps every record and value', async (_, separator) => {
		const { set } = await through('CSV', 'log.csv', '-lco', 'GEOMETRY=AS_XY', '-lco', `SEPARATOR=${separator}`);
		const [t] = set.tables as [RawTable];
		expect(t.n).toBe(N);
		const column = (name: string) => t.columns.find((c) => c.name === name)!;
		expect(Array.from(column('X').numbers!)).toEqual(rows.map((r) => expect.closeTo(r.lon, 8)));
		expect(Array.from(column('flow').numbers!)).toEqual(rows.map((r) => r.flow ?? Number.NaN));
		expect(column('who').text).toEqual(rows.map((r) => r.who));
	});

	it.each([
		['ESRI Shapefile', 'area.shp', []],
		['GPKG', 'area.gpkg', ['-t_srs', 'EPSG:32615']],
		['KML', 'area.kml', []],
		['GeoJSON', 'area.geojson', []],
	])('an area with a hole and an island keeps its rings as %s', async (format, name, options) => {
		const square = (x: number, y: number, d: number) => [
			[x, y],
			[x + d, y],
			[x + d, y + d],
			[x, y + d],
			[x, y],
		];
		const source = join(folder, 'area.json');
		const coordinates = [[square(-93.5, 44.1, 0.01), square(-93.497, 44.103, 0.002)], [square(-93.48, 44.1, 0.004)]];
		writeFileSync(
			source,
			JSON.stringify({
				type: 'Feature',
				properties: { Name: 'Löwe' },
				geometry: { type: 'MultiPolygon', coordinates },
			}),
		);
		const place = mkdtempSync(join(folder, 'area-'));
		execFileSync('ogr2ogr', ['-f', format, join(place, name), source, ...options], { stdio: 'pipe' });
		const files = Object.fromEntries(readdirSync(place).map((f) => [f, new Uint8Array(readFileSync(join(place, f)))]));
		const { boundaries } = await readAll(files);
		expect(boundaries).toHaveLength(1);
		expect(boundaries[0]!.name).toBe('Löwe');
		const polygons = boundaries[0]!.geometry.coordinates as number[][][][];
		expect(polygons.map((p) => p.length)).toEqual([2, 1]);
		for (const [p, rings] of polygons.entries()) {
			for (const [r, ring] of rings.entries()) {
				const corners = (c: number[][]) => c.map(([x, y]) => `${x!.toFixed(7)} ${y!.toFixed(7)}`).sort();
				expect(new Set(corners(ring))).toEqual(new Set(corners(coordinates[p]![r]!)));
			}
		}
	});

	it('a GeoPackage stands any bytes, and one with long rows reads its overflow pages', async () => {
		const long = {
			type: 'Feature',
			properties: { text: 'x'.repeat(20_000), n: 2 ** 40, zero: 0, one: 1, half: -0.5 },
			geometry: { type: 'Point', coordinates: [9, 50] },
		};
		const source = join(folder, 'long.json');
		writeFileSync(source, JSON.stringify(long));
		const place = join(folder, 'long.gpkg');
		execFileSync('ogr2ogr', ['-f', 'GPKG', place, source], { stdio: 'pipe' });
		const bytes = new Uint8Array(readFileSync(place));
		const [t] = readGeopackage({ name: 'a', bytes }).tables;
		expect(t!.columns.map((c) => c.text?.[0] ?? c.numbers![0])).toEqual([
			'x'.repeat(20_000),
			2 ** 40,
			0,
			1,
			-0.5,
			9,
			50,
		]);
		await hurt(bytes, 'a', seeded(9).uniform, 150, (b) => readGeopackage({ name: 'a', bytes: b }));
	});
});
