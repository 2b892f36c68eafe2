import { existsSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { NOT_A_NUMBER, parseNumber } from '../../lib/formats/digits.ts';
import { readShapefile } from '../../lib/formats/shapefile/index.ts';
import { readCrs } from '../../lib/geo/crs.ts';
import { seeded } from '../../lib/stats/random.ts';
import { fileBytes, hurt, loaded, readAll } from './sources.ts';

const DATA = new URL('../../../shared/data/', import.meta.url);
const there = existsSync(DATA);
if (!there) console.warn('SKIPPED: ../shared/data is absent.');

describe('numbers in bytes', () => {
	it('equal what Number gives', () => {
		const random = seeded(4);
		const texts = [
			'',
			' ',
			'-',
			'+',
			'.',
			'-.',
			'0',
			'-0',
			'007',
			'1.',
			'.5',
			'+.5',
			'1e5',
			'1.5E-3',
			'*****',
			'1 2',
			'1,5',
			'NaN',
			'12345678901234567890',
			'0.1',
			'123456789.123456789',
			'9007199254740993',
		];
		for (let i = 0; i < 3000; i++) {
			const digits = Math.floor(random.uniform() * 12);
			texts.push(((random.uniform() - 0.5) * 10 ** Math.floor(random.uniform() * 14)).toFixed(digits).padStart(20));
		}
		for (const text of texts) {
			const bytes = new TextEncoder().encode(`x${text}x`);
			const plain = /^\s*[-+]?(\d+\.?\d*|\.\d+)(e[-+]?\d+)?\s*$/i.test(text) ? Number(text) : Number.NaN;
			const found = parseNumber(bytes, 1, bytes.length - 1, false);
			expect(found === NOT_A_NUMBER ? Number.NaN : found, text).toBe(plain);
		}
	});
});

/** A small shapefile: places, and a table of one text and one number. */
function crafted(
	places: [number, number][],
	names: string[],
	encode: (s: string) => Uint8Array = (s) => new TextEncoder().encode(s),
) {
	const shp = new DataView(new ArrayBuffer(100 + places.length * 28));
	shp.setInt32(0, 9994);
	shp.setInt32(24, shp.byteLength / 2);
	shp.setInt32(28, 1000, true);
	shp.setInt32(32, 1, true);
	places.forEach(([x, y], i) => {
		const at = 100 + i * 28;
		shp.setInt32(at, i + 1);
		shp.setInt32(at + 4, 10);
		shp.setInt32(at + 8, 1, true);
		shp.setFloat64(at + 12, x, true);
		shp.setFloat64(at + 20, y, true);
	});
	const dbf = new Uint8Array(32 + 64 + 1 + names.length * 31);
	const view = new DataView(dbf.buffer);
	dbf[0] = 3;
	view.setUint32(4, names.length, true);
	view.setUint16(8, 97, true);
	view.setUint16(10, 31, true);
	const field = (at: number, name: string, type: string, length: number) => {
		dbf.set(new TextEncoder().encode(name), at);
		dbf[at + 11] = type.charCodeAt(0);
		dbf[at + 16] = length;
	};
	field(32, 'NAME', 'C', 20);
	field(64, 'FLOW', 'N', 10);
	dbf[96] = 13;
	names.forEach((name, i) => {
		const at = 97 + i * 31;
		dbf.fill(32, at, at + 31);
		dbf.set(encode(name), at + 1);
		dbf.set(new TextEncoder().encode(String(i + 0.5)), at + 21);
	});
	return { shp: new Uint8Array(shp.buffer), dbf };
}

const WGS84 =
	'GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]]';

describe('shapefiles', () => {
	it('come as columns, whatever the case of their endings, with encoding by .cpg, header or looks', async () => {
		const latin = (s: string) => Uint8Array.from(s, (c) => c.charCodeAt(0));
		const west = crafted([[9, 50]], ['Füße'], latin);
		const utf8 = crafted([[9, 50]], ['Füße']);
		for (const [files, cpg] of [
			[west, undefined],
			[utf8, undefined],
			[utf8, 'UTF-8'],
			[west, '1252'],
			[west, 'ISO 88591'],
			[west, 'ANSI 1252'],
		] as const) {
			const { tables, files: met } = await readAll({
				'a/Log.SHP': files.shp,
				'a/Log.dbf': files.dbf,
				'a/LOG.PRJ': WGS84,
				...(cpg ? { 'a/Log.cpg': cpg } : {}),
			});
			expect(met).toEqual([expect.objectContaining({ file: 'a/Log.SHP', kind: 'shapefile', why: null })]);
			expect(tables[0]!.columns.map((c) => [c.name, c.as, c.text?.[0] ?? c.numbers?.[0]])).toEqual([
				['NAME', undefined, 'Füße'],
				['FLOW', undefined, 0.5],
				['lon', 'lon', 9],
				['lat', 'lat', 50],
			]);
		}
	});

	it('leave out deleted rows, and say what is cut off or missing', async () => {
		const { shp, dbf } = crafted(
			[
				[9, 50],
				[9.1, 50],
				[9.2, 50],
			],
			['a', 'b', 'c'],
		);
		dbf[97 + 31] = 42;
		const parts = { shp: loaded('x.shp', shp), dbf: loaded('x.dbf', dbf), prj: null, cpg: null };
		const [t] = readShapefile(parts).tables;
		expect(t!.columns.map((c) => c.text ?? Array.from(c.numbers!))).toEqual([
			['a', 'c'],
			[0.5, 2.5],
			[9, 9.2],
			[50, 50],
		]);
		expect(t!.notes.join(' ')).toMatch(/\.prj.*is missing.*1 rows are marked as deleted/);
		const [cut] = readShapefile({ ...parts, shp: loaded('x.shp', shp.subarray(0, 160)) }).tables;
		expect(cut!.n).toBe(1);
		expect(cut!.notes.join(' ')).toContain('cut off');
		const [bare] = readShapefile({ ...parts, dbf: null }).tables;
		expect(bare!.notes.join(' ')).toContain('.dbf) is missing');
		const { files } = await readAll({ 'x.dbf': dbf, 'y.shx': shp });
		expect(files.map((f) => f.why)).toEqual([null, expect.stringContaining('.shp and .dbf are needed')]);
	});

	it('stand any bytes', async () => {
		const { shp, dbf } = crafted(
			[
				[9, 50],
				[9.1, 50],
			],
			['a', 'b'],
		);
		const random = seeded(3).uniform;
		await hurt(shp, 'x.shp', random, 400, (bytes) =>
			readShapefile({ shp: { name: 'x.shp', bytes }, dbf: loaded('x.dbf', dbf), prj: WGS84, cpg: null }),
		);
		await hurt(dbf, 'x.dbf', random, 400, (bytes) =>
			readShapefile({ shp: loaded('x.shp', shp), dbf: { name: 'x.dbf', bytes }, prj: null, cpg: null }),
		);
	});

	it.skipIf(!there)('of the open data keep their sums', async () => {
		const { tables } = await readAll({
			'barley-2015.zip': fileBytes(new URL('barley-2015.zip', DATA)),
			'wheat-2018.zip': fileBytes(new URL('wheat-2018.zip', DATA)),
		});
		const [barley, wheat] = tables as [(typeof tables)[0], (typeof tables)[0]];
		const numbers = (t: typeof barley, name: string) => t.columns.find((c) => c.name === name)!.numbers!;
		// As the data's README states them; pounds of 0.45359237 kg.
		expect(barley.n).toBe(31_062);
		expect(numbers(barley, 'flw_lbs').reduce((a, b) => a + b, 0) * 0.45359237).toBeCloseTo(182_716.9, 0);
		const logs = new Map<string, number>();
		const start = wheat.columns.find((c) => c.name === 'dataset')!.text!;
		const [flow, duration] = [numbers(wheat, 'crp_flw_m'), numbers(wheat, 'durtn_s')];
		for (let i = 0; i < wheat.n; i++)
			logs.set(start[i]!, (logs.get(start[i]!) ?? 0) + flow[i]! * duration[i]! * 0.45359237);
		expect([...logs.values()].map((kg) => Math.round(kg * 10) / 10).sort()).toEqual(
			[106_871.8, 76_446.0, 83_087.5].sort(),
		);
		// UTM zone 12 N on GRS 80 without a name.
		const crs = readCrs(barley.crs!)!;
		expect(crs.doubt).toBeNull();
		const { lon_deg, lat_deg } = crs.toWgs84(numbers(barley, 'x').slice(0, 1), numbers(barley, 'y').slice(0, 1));
		expect([lon_deg[0], lat_deg[0]]).toEqual([expect.closeTo(-109.16, 1), expect.closeTo(46.05, 1)]);
	});
});
