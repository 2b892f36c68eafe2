import { zipSync } from 'fflate';
import { describe, expect, it } from 'vitest';
import { load } from '../../lib/formats/bytes.ts';
import { unzip } from '../../lib/formats/zip/unpack.ts';
import { seeded } from '../../lib/stats/random.ts';
import { faultOf, hurt, loaded, readAll } from './sources.ts';

const text = (s: string) => new TextEncoder().encode(s);
const opened = async (bytes: Uint8Array) =>
	Object.fromEntries(
		await Promise.all(
			unzip(loaded('x.zip', bytes)).map(async (s) => [s.name, new TextDecoder().decode((await load(s)).bytes)]),
		),
	);

/** A zip of one stored file with any name, changed in place where a test wants it. */
function crafted(name: string, change?: (bytes: Uint8Array, directory: number) => void): Uint8Array {
	const bytes = zipSync({ [name]: [text('time,lat,lon\n1,2,3\n'), { level: 0 }] });
	const directory = new DataView(bytes.buffer).getUint32(bytes.length - 6, true);
	change?.(bytes, directory);
	return bytes;
}
const set16 = (bytes: Uint8Array, at: number, v: number) => new DataView(bytes.buffer).setUint16(at, v, true);
const set32 = (bytes: Uint8Array, at: number, v: number) => new DataView(bytes.buffer).setUint32(at, v, true);

describe('zips', () => {
	it('gives every file, stored and packed, in folders and behind other bytes', async () => {
		const zip = zipSync({ 'a.csv': text('1'), north: { 'b.csv': [text('2'.repeat(9000)), { level: 9 }] } });
		const behind = new Uint8Array(zip.length + 300);
		behind.set(zip, 300);
		for (const bytes of [zip, behind]) {
			expect(await opened(bytes)).toEqual({ 'x.zip/a.csv': '1', 'x.zip/north/b.csv': '2'.repeat(9000) });
		}
	});

	it.each(['../a.csv', 'a/../../b.csv', '/etc/a.csv', 'C:/a.csv', '..\\a.csv'])(
		'refuses %s, which climbs',
		async (name) => {
			expect(await faultOf(() => opened(crafted(name)))).toContain('outside its own folder');
		},
	);

	it('refuses what is locked, packed otherwise, cut off or damaged, in words', async () => {
		expect(await faultOf(() => opened(crafted('a.csv', (b, d) => set16(b, d + 8, 1))))).toContain('password');
		expect(await faultOf(() => opened(crafted('a.csv', (b, d) => set16(b, d + 10, 9))))).toContain('unzip it');
		expect(await faultOf(() => opened(crafted('a.csv').subarray(0, 60)))).toContain('cut off');
		expect(await faultOf(() => opened(crafted('a.csv', (b) => void (b[40]! ^= 1))))).toContain('checksum');
	});

	it('refuses two files of one name, and files that share bytes', async () => {
		const two = zipSync({ 'a.csv': [text('1,2'), { level: 0 }], 'b.csv': [text('3,4'), { level: 0 }] });
		const directory = new DataView(two.buffer).getUint32(two.length - 6, true);
		const same = two.slice();
		same[directory + 46 + 5 + 46] = 'a'.charCodeAt(0);
		expect(await faultOf(() => opened(same))).toContain('two files of one name');
		const shared = two.slice();
		set32(shared, directory + 46 + 5 + 42, 0);
		expect(await faultOf(() => opened(shared))).toContain('share the same bytes');
	});

	it('refuses bombs by what they claim and by what comes out, at once and in little memory', async () => {
		const bomb = zipSync({ 'a.csv': [new Uint8Array(20e6), { level: 9 }] });
		const start = performance.now();
		expect(await faultOf(() => opened(bomb))).toContain('far more than real data');
		// The same, lying about its size: it is stopped where the lie is told.
		const liar = bomb.slice();
		set32(liar, new DataView(liar.buffer).getUint32(liar.length - 6, true) + 24, 1000);
		expect(await faultOf(() => opened(liar))).toContain('far more than real data');
		const claim = crafted('a.csv', (b, d) => set32(b, d + 24, 2 ** 31));
		expect(await faultOf(() => opened(claim))).toContain('2.1 GB');
		expect(performance.now() - start).toBeLessThan(4000);
	});

	it('opens zips in a zip, but not without end', async () => {
		const inner = zipSync({ 'a.geojson': text('{"type":"Point","coordinates":[9,50]}') });
		const twice = zipSync({ 'inner.zip': inner });
		expect((await readAll({ 'x.zip': twice })).tables.map((t) => t.file)).toEqual(['x.zip/inner.zip/a.geojson']);
		const deep = zipSync({ 'd.zip': zipSync({ 'c.zip': zipSync({ 'b.zip': twice }) }) });
		const { tables, files } = await readAll({ 'x.zip': deep });
		expect(tables).toEqual([]);
		expect(files.find((f) => f.why !== null)?.why).toContain('3 deep');
	});

	it('stands any bytes', async () => {
		const zip = zipSync({ 'a.csv': text('1,2\n'.repeat(50)), 'b.csv': [text('1,2\n'.repeat(50)), { level: 0 }] });
		await hurt(zip, 'x.zip', seeded(1).uniform, 400, (bytes) => opened(bytes));
	});
});
