import { unzipSync } from 'fflate';
import { fromArrayBuffer } from 'geotiff';
import { parquetMetadata, parquetReadObjects } from 'hyparquet';
import papa from 'papaparse';
import { describe, expect, test } from 'vitest';
import { mendPolygons } from '../../lib/geo/mend-boundary.ts';
import { FLAGS, type Result } from '../../lib/model/index.ts';
import * as write from '../../lib/write/index.ts';
import { bytesOf, CONTOURS, folder, handMade, NAMES, PER_PASS, textOf } from './fixture.ts';
import { run as command, hasGdal, inFolder, layerOf, query, sayIfMissing } from './gdal.ts';

type Point = { geometry: { coordinates: [number, number] } | null };

const run = handMade();
const n = run.field.records.n;
sayIfMissing('what is written');
/** The library's own sums, which others' tools must find again. */
const kept = Array.from({ length: n }, (_, i) => i).filter((i) => run.yields.flag[i] === 0);
const mean = (index: number[], values: Float64Array) =>
	index.reduce((sum, i) => sum + (values[i] as number), 0) / index.length;

const log = (combine: number) =>
	`time,lat,lon,flow_kg_s,note\n${Array.from({ length: PER_PASS }, (_, k) => `t${k},1,2,${k + combine},"n, ""${k}"""\n`).join('')}`;

describe('points.csv', async () => {
	const text = await textOf(write.pointsCsv(run));
	const { data } = papa.parse<Record<string, string>>(text, { header: true, skipEmptyLines: true });

	test('has one row a record with the contract’s columns', () => {
		expect(data.length).toBe(n);
		expect(text.split('\n')[0]).toBe(
			'combine,time,lon,lat,pass,fill,flag,area_m2,moisture_pct,monitor_yield_kg_ha,yield_kg_ha,yield_u_rel',
		);
	});

	test('says what the run says, names as they are', () => {
		expect(data[0]).toEqual({
			combine: NAMES[0],
			time: '2026-10-03T04:00:00.250Z',
			lon: '-93.5000000',
			lat: '41.6000000',
			pass: '0',
			fill: 'A1',
			flag: '',
			area_m2: (run.track.area_m2[0] as number).toFixed(3),
			moisture_pct: '17.500',
			monitor_yield_kg_ha: '9000.00',
			yield_kg_ha: '9270.00',
			yield_u_rel: '0.021000',
		});
		expect(data.map((row) => row.fill)).toEqual(
			Array.from({ length: n }, (_, i) => (i < 50 ? 'A1' : i < 110 ? 'A2' : i < PER_PASS ? '' : 'B1')),
		);
		expect(data.map((row) => FLAGS.indexOf(row.flag as (typeof FLAGS)[number]))).toEqual([...run.yields.flag]);
	});

	test('a time that the log did not give is blank', async () => {
		const untimed = new Uint8Array(n);
		untimed[1] = 1;
		const field = { ...run.field, records: { ...run.field.records, untimed } };
		const lines = (await textOf(write.pointsCsv({ ...run, field }))).split('\n');
		expect(papa.parse<string[]>(lines[2] as string).data[0]?.[1]).toBe('');
		expect(JSON.parse(await textOf(write.pointsGeojson({ ...run, field }))).features[1].properties.time).toBeNull();
	});

	test('leaves blank what is not known', () => {
		const { lon, lat, pass, area_m2, monitor_yield_kg_ha, yield_kg_ha } = data[5] as Record<string, string>;
		expect([lon, lat, pass, area_m2, monitor_yield_kg_ha, yield_kg_ha]).toEqual(['', '', '', '', '', '']);
		expect(text).not.toMatch(/NaN|Infinity/);
	});
});

describe('points.geojson', async () => {
	const bytes = await bytesOf(write.pointsGeojson(run));
	const json = JSON.parse(new TextDecoder().decode(bytes));

	test('is the same as features', () => {
		expect(json.features.length).toBe(n);
		expect(json.features[5]).toMatchObject({
			geometry: null,
			properties: { flag: 'unplaced', yield_kg_ha: null, pass: null },
		});
		expect(json.features[0].properties).toMatchObject({ combine: NAMES[0], flag: null, fill: 'A1', yield_kg_ha: 9270 });
		expect(json.features[0].geometry.coordinates).toEqual([-93.5, 41.6]);
	});

	test.skipIf(!hasGdal)('opens in GDAL: count, extent and mean yield agree', () => {
		inFolder({ 'points.geojson': bytes }, (path) => {
			const layer = layerOf(path('points.geojson'));
			expect(layer.count).toBe(n);
			const lon = json.features.flatMap((f: Point) => (f.geometry ? [f.geometry.coordinates[0]] : []));
			const lat = json.features.flatMap((f: Point) => (f.geometry ? [f.geometry.coordinates[1]] : []));
			const extent = [Math.min(...lon), Math.min(...lat), Math.max(...lon), Math.max(...lat)];
			for (const [k, edge] of extent.entries()) expect(layer.extent[k]).toBeCloseTo(edge, 5);
			expect(extent[0]).toBeCloseTo(-93.5, 4);
			expect(extent[1]).toBeCloseTo(41.6, 5);
			const sums = query(
				path('points.geojson'),
				'SELECT AVG(yield_kg_ha) AS m, COUNT(*) AS c FROM points WHERE flag IS NULL',
			);
			expect(Number(sums.c)).toBe(kept.length);
			expect(Number(sums.m)).toBeCloseTo(mean(kept, run.yields.corrected_kg_ha), 2);
		});
	});
});

describe('swaths.geojson', async () => {
	const bytes = await bytesOf(write.swathsGeojson(run));
	const area = [...run.track.area_m2].filter(Number.isFinite).reduce((a, b) => a + b, 0);

	test('is valid, with counterclockwise rings, one polygon a record with ground', () => {
		const json = JSON.parse(new TextDecoder().decode(bytes));
		expect(json.features.length).toBe(n - 1);
		const { parts, mends, faults } = mendPolygons(json);
		expect(faults).toEqual([]);
		expect(mends).toEqual([]);
		expect(parts.length).toBe(n - 1);
	});

	test('ground that turns on itself is a polygon all the same, ground of no extent none', async () => {
		const at = (corners: number[]) => {
			const [x, y] = [run.track.cutX_m[0] as number, run.track.cutY_m[0] as number];
			const moved = run.track.corners_m.slice();
			moved.set(corners.map((v, k) => 20 * v + (k % 2 === 0 ? x : y)));
			return textOf(write.swathsGeojson({ ...run, track: { ...run.track, corners_m: moved } }));
		};
		// Left and right edges cross; front and rear cross; one corner on another; no width at all.
		for (const corners of [
			[0, 0, 1, 2, 0, 2, 1, 0],
			[0, 0, 0, 2, 1, 0, 1, 2],
			[0, 0, 0, 2, 1, 2, 0, 0],
			[0, 0, 0, 2, 0, 2, 0, 0],
		]) {
			const { parts, faults, mends } = mendPolygons(JSON.parse(await at(corners)));
			expect([faults, mends]).toEqual([[], []]);
			expect(parts.length).toBe(corners[4] === 0 && corners[2] === 0 && corners[6] === 0 ? n - 2 : n - 1);
		}
	});

	test.skipIf(!hasGdal)('opens in GDAL: the polygons’ area is the area cut', () => {
		inFolder({ 'swaths.geojson': bytes }, (path) => {
			const sums = query(
				path('swaths.geojson'),
				'SELECT SUM(ST_Area(geometry, 1)) AS a, SUM(area_m2) AS b, COUNT(*) AS c FROM swaths',
			);
			expect(Number(sums.c)).toBe(n - 1);
			expect(Number(sums.b)).toBeCloseTo(area, 0);
			expect(Math.abs(Number(sums.a) / area - 1)).toBeLessThan(2e-3);
		});
	});
});

describe('map.tif', async () => {
	const { surface } = run;
	const bytes = await write.mapTif(run);
	const held = [...surface.yield_kg_ha].filter(Number.isFinite);

	test.skipIf(!hasGdal)('opens in GDAL: place, size, bands, units and statistics agree', () => {
		inFolder({ 'map.tif': bytes }, (path) => {
			const info = JSON.parse(
				command('gdalinfo', ['-json', '-stats', '--config', 'GDAL_PAM_ENABLED', 'NO', path('map.tif')]),
			);
			expect(info.size).toEqual([surface.columns, surface.rows]);
			expect(info.geoTransform).toEqual([surface.west_m, 10, 0, surface.north_m, 0, -10]);
			expect(JSON.stringify(info.coordinateSystem)).toMatch(/UTM zone 15N/);
			const [first, second] = info.bands;
			for (const band of [first, second]) {
				expect(band).toMatchObject({ type: 'Float32', noDataValue: -9999, unit: 'kg/ha' });
			}
			expect([first.description, second.description]).toEqual(['yield', 'standard error']);
			expect(first.minimum).toBeCloseTo(Math.min(...held), 1);
			expect(first.maximum).toBeCloseTo(Math.max(...held), 1);
			expect(first.mean).toBeCloseTo(held.reduce((a, b) => a + b, 0) / held.length, 1);
			expect(Number(first.metadata[''].STATISTICS_VALID_PERCENT)).toBeCloseTo((100 * held.length) / (3 * 25), 1);
			expect(second.minimum).toBeCloseTo(100, 1);
		});
	});

	test('another reader finds every cell where it belongs, −9999 where there is none', async () => {
		const image = await (await fromArrayBuffer(bytes.slice().buffer)).getImage();
		const [yields, errors] = (await image.readRasters()) as unknown as [Float32Array, Float32Array];
		expect([...yields]).toEqual([...surface.yield_kg_ha].map((y) => (Number.isFinite(y) ? y : -9999)));
		expect([...errors]).toEqual(
			[...surface.se_kg_ha].map((se, i) => (Number.isFinite(surface.yield_kg_ha[i]) ? se : -9999)),
		);
	});

	test('a grid beyond four million cells is written in coarser ones, an empty one in one', async () => {
		const columns = 2100;
		const rows = 2000;
		const flat = {
			...surface,
			columns,
			rows,
			yield_kg_ha: new Float32Array(columns * rows).fill(8000),
			se_kg_ha: new Float32Array(columns * rows).fill(50),
		};
		const big = await write.mapTif({ ...run, surface: flat });
		expect(big.length).toBeLessThan(1000 + 8 * 1_100_000);
		const none = { ...surface, columns: 0, rows: 0, yield_kg_ha: new Float32Array(0), se_kg_ha: new Float32Array(0) };
		expect((await write.mapTif({ ...run, surface: none })).length).toBe(1008);
	});
});

describe('contours.geojson', () => {
	test('is valid GeoJSON', async () => {
		const json = JSON.parse(await textOf(write.contoursGeojson(run, CONTOURS)));
		expect(mendPolygons(json)).toMatchObject({ faults: [], mends: [] });
		expect(json.features[0].properties).toEqual({ from_kg_ha: 8000, to_kg_ha: 9000 });
	});
});

describe('clean-points.zip', () => {
	test.each(['us', 'metric'] as const)('holds a shapefile of the clean points, %s', (units) => {
		const files = unzipSync(write.shapefileZip(run, units));
		expect(Object.keys(files).sort()).toEqual(['cpg', 'dbf', 'prj', 'shp', 'shx'].map((e) => `clean-points.${e}`));
		const dbf = files['clean-points.dbf'] as Uint8Array;
		// The last record's day, 3 October 2026, not today's.
		expect([...dbf.subarray(1, 4)]).toEqual([126, 10, 3]);
		if (!hasGdal) return;
		inFolder(files, (path) => {
			const layer = layerOf(path('clean-points.shp'));
			expect(layer.count).toBe(kept.length);
			expect(layer.text).toMatch(/Geometry: Point/);
			expect(layer.text).toMatch(/WGS 84/);
			const [name, factor] = units === 'us' ? ['YLD_BUAC', 0.40468564224 / 25.401] : ['YLD_KGHA', 1];
			const sums = query(
				path('clean-points.shp'),
				`SELECT AVG(${name}) AS m, MIN(COMBINE) AS c, MAX(COMBINE) AS d, MIN(TIME_UTC) AS t FROM "clean-points"`,
			);
			expect(Number(sums.m)).toBeCloseTo(mean(kept, run.yields.corrected_kg_ha) * factor, 1);
			expect([sums.c, sums.d]).toEqual(NAMES);
			expect(sums.t).toBe('2026-10-03T04:00:00.250Z');
		});
	});

	test('opens with no point in it', () => {
		const none = { ...run, yields: { ...run.yields, flag: new Uint8Array(n).fill(1) } };
		const files = unzipSync(write.shapefileZip(none, 'us'));
		if (hasGdal) inFolder(files, (path) => expect(layerOf(path('clean-points.shp')).count).toBe(0));
		expect(files['clean-points.shp']?.length).toBe(100);
	});
});

describe('points.parquet', async () => {
	const bytes = await write.geoparquet(run);
	const file = bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length) as ArrayBuffer;

	test('is GeoParquet 1.1 that hyparquet reads back', async () => {
		const metadata = parquetMetadata(file);
		const geo = JSON.parse(metadata.key_value_metadata?.find((kv) => kv.key === 'geo')?.value as string);
		expect(geo).toMatchObject({
			version: '1.1.0',
			primary_column: 'geometry',
			columns: { geometry: { encoding: 'WKB', geometry_types: ['Point'] } },
		});
		expect(geo.columns.geometry.bbox[0]).toBeCloseTo(-93.5, 4);
		const rows = await parquetReadObjects({ file });
		expect(rows.length).toBe(n);
		expect(rows[0]).toMatchObject({ combine: NAMES[0], fill: 'A1', flag: null, pass: 0, yield_kg_ha: 9270 });
		expect(rows[0]?.time).toEqual(new Date('2026-10-03T04:00:00.250Z'));
		expect(rows[5]).toMatchObject({
			geometry: null,
			yield_kg_ha: null,
			monitor_yield_kg_ha: null,
			flag: 'unplaced',
			pass: null,
		});
		const sum = rows.reduce((a, row) => a + ((row.area_m2 as number) ?? 0), 0);
		expect(sum).toBeCloseTo(
			[...run.track.area_m2].filter(Number.isFinite).reduce((a, b) => a + b, 0),
			// Seven digits.
			3,
		);
		const point = rows[0]?.geometry;
		expect(point).toMatchObject({ type: 'Point' });
	});
});

describe('clean.csv', () => {
	test('holds the unflagged records, their own columns and the yield in the chosen units', async () => {
		const text = await textOf(write.cleanCsv(run, folder({ 'one.csv': log(0), 'two.csv': log(1) }), 'metric'));
		const { data, meta } = papa.parse<Record<string, string>>(text, { header: true, skipEmptyLines: true });
		expect(meta.fields).toEqual([
			...['time', 'lat', 'lon', 'flow_kg_s', 'note'],
			...['ground_lon', 'ground_lat', 'recorded_yield_kg_ha_at_15.5_pct', 'corrected_yield_kg_ha_at_15.5_pct'],
			...['yield_u_rel', 'combine'],
		]);
		expect(data.length).toBe(kept.length);
		const points = papa.parse<Record<string, string>>(await textOf(write.pointsCsv(run)), { header: true }).data;
		data.forEach((row, k) => {
			const i = kept[k] as number;
			expect(row).toEqual({
				time: `t${i % PER_PASS}`,
				lat: '1',
				lon: '2',
				flow_kg_s: String((i % PER_PASS) + (i < PER_PASS ? 0 : 1)),
				note: `n, "${i % PER_PASS}"`,
				ground_lon: points[i]?.lon,
				ground_lat: points[i]?.lat,
				'recorded_yield_kg_ha_at_15.5_pct': (run.yields.monitor_kg_ha[i] as number).toFixed(2),
				'corrected_yield_kg_ha_at_15.5_pct': (run.yields.corrected_kg_ha[i] as number).toFixed(2),
				yield_u_rel: '0.021000',
				combine: NAMES[i < PER_PASS ? 0 : 1],
			});
		});
	});

	test('bushels an acre in US units', async () => {
		const text = await textOf(write.cleanCsv(run, folder({ 'one.csv': log(0), 'two.csv': log(1) }), 'us'));
		const { data } = papa.parse<Record<string, string>>(text, { header: true });
		const first = Number(data[0]?.['corrected_yield_bu_ac_at_15.5_pct']);
		expect(first).toBeCloseTo((9270 * 0.40468564224) / 25.401, 2);
	});

	test('any chunks, line ends, a byte order mark, breaks in quotes, other columns and separators', async () => {
		const plain = `time,flow_kg_s,note\n${Array.from({ length: PER_PASS }, (_, k) => `t${k},${k},x\n`).join('')}`;
		// The second log: semicolons, decimal commas, CRLF, a mark, a quoted line break in the first row's note.
		const other = `\ufefftime;speed;note\r\n${Array.from({ length: PER_PASS }, (_, k) => `u${k};${k},5;${k === 0 ? '"a\nb"' : 'y'}\r\n`).join('')}`;
		const shifted = handMade();
		for (let i = PER_PASS + 1; i < n; i++)
			shifted.field.records.line[i] = (shifted.field.records.line[i] as number) + 1;
		let before = '';
		for (const size of [1, 7, 100_000]) {
			const text = await textOf(
				write.cleanCsv(shifted, folder({ 'one.csv': plain, 'two.csv': other }, size), 'metric'),
			);
			const { data } = papa.parse<Record<string, string>>(text, { header: true, skipEmptyLines: true });
			expect(data.length).toBe(kept.length);
			const at = kept.findIndex((i) => i >= PER_PASS);
			expect(data[at]).toMatchObject({ time: 'u0', flow_kg_s: '', speed: '0,5', note: 'a\nb', combine: NAMES[1] });
			expect(data[at + 1]).toMatchObject({ time: 'u1', speed: '1,5', note: 'y' });
			expect(data[at]?.['corrected_yield_kg_ha_at_15.5_pct']).toBe(
				(run.yields.corrected_kg_ha[PER_PASS] as number).toFixed(2),
			);
			if (before !== '') expect(text).toBe(before);
			before = text;
		}
	});
});

describe('columns.csv', () => {
	const said = (bushels: boolean) => {
		const text = new TextDecoder().decode(write.columnsCsv(run, bushels ? 'us' : 'metric', bushels));
		const { data } = papa.parse<Record<string, string>>(text, { header: true, skipEmptyLines: true });
		return (file: string) => data.filter((row) => row.file === file).map((row) => row.column as string);
	};

	test.each([true, false])('says what every column holds, with bushels: %s', async (bushels) => {
		const of = said(bushels);
		expect(of('points.csv').sort()).toEqual(
			(await textOf(write.pointsCsv(run, bushels))).split('\n')[0]!.split(',').sort(),
		);
		const geojson = JSON.parse(await textOf(write.pointsGeojson(run, bushels)));
		expect(of('points.geojson')).toEqual([...Object.keys(geojson.features[0].properties), 'geometry']);
		const swaths = JSON.parse(await textOf(write.swathsGeojson(run, bushels)));
		expect(of('swaths.geojson')).toEqual([...Object.keys(swaths.features[0].properties), 'geometry']);
		const bytes = await write.geoparquet(run, bushels);
		const rows = await parquetReadObjects({ file: bytes.slice().buffer as ArrayBuffer });
		expect(of('points.parquet')).toEqual(Object.keys(rows[0]!));
		const zones = JSON.parse(await textOf(write.contoursGeojson(run, CONTOURS, bushels)));
		expect(of('contours.geojson')).toEqual(Object.keys(zones.features[0].properties));
		const image = await (await fromArrayBuffer((await write.mapTif(run, bushels)).slice().buffer)).getImage();
		expect(of('map.tif')).toHaveLength(image.getSamplesPerPixel());
		expect(of('(flag words)')).toEqual([...FLAGS]);
	});

	test('bushels stand beside kg/ha, and are the same yields', async () => {
		const { data } = papa.parse<Record<string, string>>(await textOf(write.pointsCsv(run, true)), { header: true });
		for (const row of data.slice(0, 5)) {
			expect(Number(row.yield_bu_ac)).toBeCloseTo((Number(row.yield_kg_ha) * 0.40468564224) / 25.401, 1);
		}
		const image = await (await fromArrayBuffer((await write.mapTif(run, true)).slice().buffer)).getImage();
		const [kg, , bu] = (await image.readRasters()) as unknown as Float32Array[];
		for (let k = 0; k < kg!.length; k++) {
			expect(bu![k]).toBeCloseTo(kg![k] === -9999 ? -9999 : (kg![k]! * 0.40468564224) / 25.401, 2);
		}
	});
});

describe('result.json', () => {
	test('is JSON with null for what is no number, and names as text', async () => {
		const result = {
			schema: 'steelyard.result/1',
			clock: { offset_s: Number.NaN, u_s: Infinity, source: 'none' },
			dumps: [{ id: '</script>', cart_kg: Number.NaN }, { id: 'D2' }],
			notes: [],
			combines: { 'A"': { factor: null } },
		} as unknown as Result;
		const text = await textOf(write.resultJson(result));
		expect(JSON.parse(text)).toEqual({
			schema: 'steelyard.result/1',
			clock: { offset_s: null, u_s: null, source: 'none' },
			dumps: [{ id: '</script>', cart_kg: null }, { id: 'D2' }],
			notes: [],
			combines: { 'A"': { factor: null } },
		});
	});
});

test('the same run gives the same bytes, in any time zone of the machine', async () => {
	const files = folder({ 'one.csv': log(0), 'two.csv': log(1) });
	const all = async () => [
		await bytesOf(write.pointsCsv(run)),
		await bytesOf(write.pointsGeojson(run)),
		await bytesOf(write.swathsGeojson(run)),
		await bytesOf(write.cleanCsv(run, files, 'us')),
		await write.mapTif(run),
		write.shapefileZip(run, 'us'),
		await write.geoparquet(run),
	];
	const zone = process.env.TZ;
	process.env.TZ = 'America/Chicago';
	const first = await all();
	process.env.TZ = 'Asia/Tokyo';
	const second = await all();
	if (zone === undefined) delete process.env.TZ;
	else process.env.TZ = zone;
	expect(second.map((bytes) => Buffer.from(bytes).toString('base64').slice(-200))).toEqual(
		first.map((bytes) => Buffer.from(bytes).toString('base64').slice(-200)),
	);
	for (const [k, bytes] of first.entries()) expect(Buffer.compare(bytes, second[k] as Uint8Array)).toBe(0);
});
