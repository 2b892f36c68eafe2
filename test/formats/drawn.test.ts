import { zipSync } from 'fflate';
import { describe, expect, it } from 'vitest';
import { readGeojson } from '../../lib/formats/drawn/geojson.ts';
import { readGpx } from '../../lib/formats/drawn/gpx.ts';
import { readKml } from '../../lib/formats/drawn/kml.ts';
import { seeded } from '../../lib/stats/random.ts';
import { faultOf, hurt, loaded, readAll } from './sources.ts';

const RING = [
	[9, 50],
	[9.01, 50],
	[9.01, 50.01],
	[9, 50],
];

describe('GeoJSON', () => {
	it('gives areas with their names and holes, points with their properties', async () => {
		const file = {
			type: 'FeatureCollection',
			features: [
				{
					type: 'Feature',
					properties: { name: 'Low', ha: 3 },
					geometry: {
						type: 'Polygon',
						coordinates: [
							RING,
							[
								[9.005, 50.002],
								[9.008, 50.002],
								[9.008, 50.004],
								[9.005, 50.002],
							],
						],
					},
				},
				{
					type: 'Feature',
					properties: { flow: 1.5, who: null, ok: true },
					geometry: { type: 'Point', coordinates: [9, 50, 120] },
				},
				{
					type: 'Feature',
					properties: { flow: null, who: 'Heron', ok: false },
					geometry: { type: 'Point', coordinates: [9.1, 50] },
				},
			],
		};
		const { tables, boundaries } = await readAll({ 'a.json': `\uFEFF${JSON.stringify(file)}` });
		expect(boundaries).toMatchObject([{ name: 'Low', geometry: { type: 'Polygon' }, properties: { ha: 3 } }]);
		expect(boundaries[0]!.geometry.coordinates).toHaveLength(2);
		expect(tables[0]!.columns.map((c) => [c.name, c.text ?? Array.from(c.numbers!)])).toEqual([
			['flow', [1.5, Number.NaN]],
			['who', ['', 'Heron']],
			['ok', [1, 0]],
			['z', [120, Number.NaN]],
			['lon', [9, 9.1]],
			['lat', [50, 50]],
		]);
	});

	it('obeys a coordinate system that is named, and says when it cannot', async () => {
		const at = (name: string, coordinates: number[]) =>
			JSON.stringify({
				type: 'FeatureCollection',
				crs: { type: 'name', properties: { name } },
				features: [{ type: 'Feature', properties: {}, geometry: { type: 'Point', coordinates } }],
			});
		expect((await readAll({ a: at('urn:ogc:def:crs:EPSG::32612', [641_487, 5_100_558]) })).tables[0]).toMatchObject({
			crs: 32612,
		});
		expect((await readAll({ a: at('urn:ogc:def:crs:OGC:1.3:CRS84', [9, 50]) })).tables[0]!.crs).toBeUndefined();
		expect((await readAll({ a: at('urn:ogc:def:crs:EPSG::5514', [9, 50]) })).tables[0]!.notes.join()).toContain(
			'not understood',
		);
	});

	it('takes records drawn as small areas for a log, not for fields', async () => {
		const features = Array.from({ length: 60 }, (_, i) => {
			const [x, y] = [9 + i * 0.00002, 50];
			return {
				type: 'Feature',
				properties: { flow: i },
				geometry: {
					type: 'Polygon',
					coordinates: [
						[
							[x, y],
							[x + 0.00002, y],
							[x + 0.00002, y + 0.00008],
							[x, y + 0.00008],
							[x, y],
						],
					],
				},
			};
		});
		const { tables, boundaries } = await readAll({
			'a.geojson': JSON.stringify({ type: 'FeatureCollection', features }),
		});
		expect(boundaries).toEqual([]);
		expect(tables[0]!.n).toBe(60);
		expect(tables[0]!.columns.find((c) => c.as === 'lat')!.numbers![0]).toBeCloseTo(50.00004, 9);
	});

	it('refuses lines, nothing and half a file in words', async () => {
		expect(
			await faultOf(() => readGeojson(loaded('a', '{"type":"LineString","coordinates":[[1,2],[3,4]]}'))),
		).toContain('lines are neither');
		expect(await faultOf(() => readGeojson(loaded('a', '{"logs":[]}')))).toContain('without any feature');
		expect(await faultOf(() => readGeojson(loaded('a', '{"type":"Fea')))).toContain('broken JSON');
	});
});

const KML = (inside: string) =>
	`<?xml version="1.0"?><kml xmlns="http://www.opengis.net/kml/2.2"><Document><name>all</name>${inside}</Document></kml>`;
const PLACE = `<Placemark><name>Low &amp; Long</name><ExtendedData><Data name="farm"><value>Vale</value></Data></ExtendedData><Polygon><outerBoundaryIs><LinearRing><coordinates>
9,50,0 9.01,50,0
9.01,50.01,0 9,50,0</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark>`;

describe('KML', () => {
	it('gives areas, loose or zipped, and no more than stands in the file', async () => {
		const want = {
			name: 'Low & Long',
			properties: { farm: 'Vale' },
			geometry: { type: 'Polygon', coordinates: [RING] },
		};
		expect((await readAll({ 'a.kml': KML(PLACE) })).boundaries).toMatchObject([want]);
		const packed = zipSync({ 'doc.kml': new TextEncoder().encode(KML(PLACE)) });
		expect((await readAll({ 'a.kmz': packed })).boundaries).toMatchObject([{ ...want, file: 'a.kmz' }]);
		const linked = `<NetworkLink><Link><href>https://example.org/x.kml</href></Link></NetworkLink>`;
		expect(readKml(loaded('a', KML(PLACE + linked)))[0]!.notes.join()).toContain('not fetched');
		expect(await faultOf(() => readKml(loaded('a', KML(linked))))).toContain('only a link');
	});

	it('refuses entities before they grow', async () => {
		const grown = KML(PLACE).replace('?>', '?><!DOCTYPE k [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;">]>');
		expect((await readAll({ 'a.kml': grown })).files[0]!.why).toContain('document type');
	});
});

describe('GPX', () => {
	const gpx = (points: string) =>
		`<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><metadata><name>x</name><time>2026-10-01T00:00:00Z</time></metadata><trk><name>Cart</name><trkseg>${points}</trkseg></trk></gpx>`;
	const POINTS = `<trkpt lat="50" lon="9"><ele>120.5</ele><time>2026-10-08T18:05:00Z</time></trkpt><trkpt lat="50.001" lon="9"><time>2026-10-08T18:05:10Z</time><extensions><time>no</time></extensions></trkpt>`;

	it('gives tracks with places and times', async () => {
		const { tables } = await readAll({ 'a.gpx': gpx(POINTS) });
		expect(tables).toMatchObject([{ file: 'a.gpx', kind: 'gpx', n: 2, meta: { layer: 'Cart', timeScale: 'utc' } }]);
		expect(tables[0]!.columns.map((c) => [c.as, c.text ?? Array.from(c.numbers!)])).toEqual([
			['time', ['2026-10-08T18:05:00Z', '2026-10-08T18:05:10Z']],
			['lat', [50, 50.001]],
			['lon', [9, 9]],
			['elevation', [120.5, Number.NaN]],
		]);
	});

	it('gives what a cut-off file holds, and says so', () => {
		const [t] = readGpx(loaded('a', gpx(POINTS).slice(0, -60)));
		expect(t!.n).toBe(2);
		expect(t!.notes.join()).toContain('breaks off');
	});
});

it('drawings stand any bytes', async () => {
	const random = seeded(6).uniform;
	const bytes = (s: string) => new TextEncoder().encode(s);
	await hurt(bytes(KML(PLACE)), 'a', random, 200, (b) => readKml({ name: 'a', bytes: b }));
	await hurt(bytes('<gpx><trk><trkseg><trkpt lat="1" lon="2"/></trkseg></trk></gpx>'), 'a', random, 200, (b) =>
		readGpx({ name: 'a', bytes: b }),
	);
	await hurt(bytes(JSON.stringify({ type: 'Polygon', coordinates: [RING] })), 'a', random, 300, (b) =>
		readGeojson({ name: 'a', bytes: b }),
	);
});
