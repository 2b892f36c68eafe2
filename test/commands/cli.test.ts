import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Result } from '../../lib/index.ts';
import { spawned, steelyard } from './call.ts';
import { littleField, unweighedField, writeField } from './little.ts';

let dir: string;
beforeAll(() => {
	dir = mkdtempSync(join(tmpdir(), 'steelyard-cli-'));
});
afterAll(() => rmSync(dir, { recursive: true, force: true }));

const NOWHERE = join(tmpdir(), 'steelyard-nowhere');
let fresh = 0;
const place = () => join(dir, `p${++fresh}`);
const field = (change: Record<string, string | null> = {}) => writeField(place(), littleField(change));
const anyField = () => writeField(place(), unweighedField());

function plan(change: (p: Record<string, unknown>) => void): string {
	const p = JSON.parse(littleField()['field.json'] as string) as Record<string, unknown>;
	change(p);
	return JSON.stringify(p);
}

const FILES = [
	'clean-points.zip',
	'clean.csv',
	'columns.csv',
	'contours.geojson',
	'files.json',
	'map.tif',
	'points.csv',
	'points.geojson',
	'points.parquet',
	'report.html',
	'result.json',
	'swaths.geojson',
];

describe('correct', () => {
	it('writes every file, the same bytes each time, and leaves nothing beside', async () => {
		const from = field();
		const a = place();
		const b = place();
		// By a process of its own with its threads, as a user calls it, and by this one, which has been at work.
		const first = spawned(dir, 'correct', from, '--out', a);
		expect(first.err).toBe('');
		expect(first.status).toBe(0);
		expect(readdirSync(a).sort()).toEqual(FILES);
		expect(await steelyard('correct', from, '--out', b)).toEqual({ ...first, out: first.out.replace(a, b) });
		const sha = (path: string) => createHash('sha256').update(readFileSync(path)).digest('hex');
		for (const name of FILES) expect(sha(join(a, name)), name).toBe(sha(join(b, name)));
		expect(readdirSync(dir).filter((n) => n.startsWith('.'))).toEqual([]);
		const result = JSON.parse(readFileSync(join(a, 'result.json'), 'utf8')) as Result;
		expect(result.schema).toBe('steelyard.result/1');
		expect(result.dumps.map((d) => d.id)).toEqual(['D1', 'D2', 'D3']);
		expect(Object.keys(result.combines)).toEqual(['A']);
	});

	it('refuses a folder in use, and takes its place when told to', async () => {
		const from = anyField();
		const out = place();
		mkdirSync(out);
		writeFileSync(join(out, 'kept.txt'), 'mine');
		const refused = await steelyard('correct', from, '--out', out);
		expect(refused.status).toBe(2);
		expect(refused.err).toContain('--replace');
		expect(readFileSync(join(out, 'kept.txt'), 'utf8')).toBe('mine');
		const still = await steelyard('correct', from, '--out', out, '--replace');
		expect(still.status).toBe(2);
		expect(still.err).toContain('kept.txt');
		expect(readFileSync(join(out, 'kept.txt'), 'utf8')).toBe('mine');
		rmSync(join(out, 'kept.txt'));
		expect((await steelyard('correct', from, '--out', out)).status).toBe(0);
		expect((await steelyard('correct', from, '--out', out)).status).toBe(2);
		expect((await steelyard('correct', from, '--out', out, '--replace')).status).toBe(0);
		expect(readdirSync(out).sort()).toEqual(FILES);
	});

	it('never replaces the field folder itself', async () => {
		const from = field();
		for (const out of [from, join(from, '..')]) {
			expect((await steelyard('correct', from, '--out', out, '--replace')).status).toBe(2);
			expect(existsSync(join(from, 'field.json'))).toBe(true);
		}
	});

	it('runs without any weight: factors null, a caution', async () => {
		const out = place();
		expect((await steelyard('correct', anyField(), '--out', out)).status).toBe(0);
		const result = JSON.parse(readFileSync(join(out, 'result.json'), 'utf8')) as Result;
		expect(result.combines.A?.factor).toBeNull();
		expect(result.notes.some((n) => n.level === 'caution' && /level/.test(n.text))).toBe(true);
	});
});

describe('faulty files stop the run with status 1', () => {
	const bad: [string, Record<string, string | null>, RegExp][] = [
		['a missing log', { 'A.csv': null }, /A\.csv/],
		['broken JSON', { 'field.json': '{ "crop": "corn", ' }, /field\.json/],
		['no field.json', { 'field.json': null }, /field\.json/],
		['an unknown crop', { 'field.json': plan((p) => (p.crop = 'triffids')) }, /triffids.*corn|corn.*triffids/s],
		['an empty log', { 'A.csv': '' }, /A\.csv/],
		['a binary log', { 'A.csv': '\u0000\u0001PK\u0003\u0004\u0000\u0000' }, /A\.csv/],
		['a missing column', { 'A.csv': 'time,lat,lon\n2026-10-03T15:00:00Z,42,-93\n' }, /flow_kg_s/],
		[
			'a path that leaves the folder',
			{ 'field.json': plan((p) => (p.logs = [{ file: '../A.csv', combine: 'A' }])) },
			/\.\.\/A\.csv/,
		],
		[
			'an unknown unit',
			{
				'field.json': plan(
					(p) =>
						(p.logs = [{ file: 'A.csv', combine: 'A', columns: { flow: { column: 'flow_kg_s', unit: 'stone/s' } } }]),
				),
			},
			/stone\/s/,
		],
		[
			'a yield without a basis',
			{
				'field.json': plan(
					(p) =>
						(p.logs = [{ file: 'A.csv', combine: 'A', columns: { yield: { column: 'flow_kg_s', unit: 'kg/ha' } } }]),
				),
			},
			/basis/,
		],
		[
			'a boundary that crosses itself',
			{
				'field.json': plan((p) => (p.boundary = 'b.geojson')),
				'b.geojson': JSON.stringify({
					type: 'Polygon',
					coordinates: [
						[
							[-93, 42],
							[-92.99, 42.01],
							[-92.99, 42],
							[-93, 42.01],
							[-93, 42],
						],
					],
				}),
			},
			/cross/,
		],
		[
			'a boundary of type __proto__',
			{
				'field.json': plan((p) => (p.boundary = 'b.geojson')),
				'b.geojson': '{"type":"__proto__","coordinates":[]}',
			},
			/__proto__/,
		],
	];
	for (const [name, change, says] of bad) {
		it(name, async () => {
			const out = place();
			const done = await steelyard('correct', field(change), '--out', out);
			expect(done.err).toMatch(says);
			expect(done.err).not.toMatch(/\n\s+at /);
			expect(done.status).toBe(1);
			expect(existsSync(out)).toBe(false);
		});
	}

	it('in a process of its own: the same words and status', async () => {
		const from = field({ 'A.csv': null });
		expect(spawned(dir, 'check', from)).toEqual(await steelyard('check', from));
	});

	it('a folder that is not there', async () => {
		expect((await steelyard('check', place())).status).toBe(1);
	});
});

describe('faulty rows are set aside and listed', () => {
	const spoil = (change: (rows: string[][]) => void) => {
		const rows = (littleField()['A.csv'] as string)
			.trim()
			.split('\n')
			.map((r) => r.split(','));
		change(rows);
		return `${rows.map((r) => r.join(',')).join('\n')}\n`;
	};
	const log = spoil((rows) => {
		(rows[10] as string[])[3] = 'many';
		(rows[20] as string[])[1] = '412';
		Object.assign(rows[30] as string[], { 1: '0', 2: '0' });
		(rows[40] as string[])[0] = '1970-01-01T00:00:12Z';
	});
	const cart = `${littleField()['cart.csv'] as string}D4,2026-10-03T16:00:00Z,dump,A,0,,T2\n`;

	it('with row, column, what was found and why, and a caution', async () => {
		const out = place();
		expect((await steelyard('correct', field({ 'A.csv': log, 'cart.csv': cart }), '--out', out)).status).toBe(0);
		const result = JSON.parse(readFileSync(join(out, 'result.json'), 'utf8')) as Result;
		const rows = result.set_aside.filter((s) => s.file === 'A.csv');
		expect(rows.map((s) => s.row)).toEqual([11, 21, 31, 41]);
		expect(rows[0]).toMatchObject({ column: 'flow_kg_s', found: 'many' });
		expect(rows[1]).toMatchObject({ column: 'lat', found: '412' });
		expect(result.set_aside.filter((s) => s.file === 'cart.csv').map((s) => s.row)).toContain(7);
		expect(result.notes.some((n) => n.level === 'caution')).toBe(true);
		const records = (littleField()['A.csv'] as string).trim().split('\n').length - 1;
		expect(result.combines.A?.records).toBe(records - 4);
	});

	it('but --strict stops', async () => {
		const out = place();
		const done = await steelyard('correct', field({ 'A.csv': log }), '--out', out, '--strict');
		expect(done.status).toBe(1);
		expect(done.err).toContain('412');
		expect(done.err).toContain('many');
		expect(existsSync(out)).toBe(false);
	});
});

describe('the call', () => {
	it.each([
		[['fly']],
		[['correct']],
		[['correct', NOWHERE, '--out', NOWHERE, '--units', 'ells']],
		[['season', NOWHERE, '--out', NOWHERE, '--shard', '3/2']],
		[['check']],
		[['view', NOWHERE, '--port', 'ninety']],
	])('%j is at fault: status 2', async (args) => {
		const done = await steelyard(...args);
		expect(done.status).toBe(2);
		expect(done.err).not.toBe('');
	});
	it('is at fault in a process of its own too', () => {
		expect(spawned(dir, 'fly').status).toBe(2);
	});
	it('help and version are no fault', async () => {
		const help = await steelyard('--help');
		expect([help.status, help.out, help.err]).toEqual([0, expect.stringContaining('correct [options] <folder>'), '']);
		const version = spawned(dir, '--version');
		expect([version.status, version.out]).toEqual([0, expect.stringMatching(/^\d+\.\d+\.\d+\n$/)]);
	});
	it('check writes nothing and shows the alignment', async () => {
		const from = field();
		const before = readdirSync(dir).length;
		const done = await steelyard('check', from);
		expect(done.status).toBe(0);
		expect(done.out).toMatch(/D1 .*used/);
		expect(readdirSync(dir).length).toBe(before);
	});
	// The sample lies beside the built command.
	it('sample writes the sample field once', () => {
		const out = place();
		expect(spawned(dir, 'sample', out).status).toBe(0);
		expect(existsSync(join(out, 'field.json'))).toBe(true);
		expect(spawned(dir, 'sample', out).status).toBe(2);
	});
});

describe('season', () => {
	it('corrects every field in shares that add up, faults told, tables whole', async () => {
		const at = place();
		for (const name of ['north/one', 'north/two', 'south', 'south/strip']) writeField(join(at, name), unweighedField());
		writeField(join(at, 'broken'), littleField({ 'A.csv': null }));
		const out = place();
		const paths = ['broken', 'north/one', 'north/two', 'south', 'south/strip'];
		const share = (path: string, n: bigint) => BigInt(`0x${createHash('sha256').update(path).digest('hex')}`) % n;
		for (const part of [1, 2]) {
			const done = await steelyard('season', at, '--out', out, '--shard', `${part}/2`);
			const mine = paths.filter((p) => share(p, 2n) === BigInt(part - 1));
			expect(done.status).toBe(mine.includes('broken') ? 1 : 0);
			for (const p of mine) expect(existsSync(join(out, p, 'result.json')), p).toBe(p !== 'broken');
		}
		const table = readFileSync(join(out, 'season-fields.csv'), 'utf8').trim().split('\n');
		expect(table.slice(1).map((line) => line.split(',')[0])).toEqual(paths.slice(1));
		const again = await steelyard('season', at, '--out', out);
		expect(again.status).toBe(1);
		expect(again.out).toContain('broken');
		expect(readFileSync(join(out, 'season-fields.csv'), 'utf8').trim().split('\n')).toEqual(table);
		// Pounds and acres beside the others, only where they were asked for.
		expect(table[0]).not.toContain('_lb');
		await steelyard('season', at, '--out', out, '--units', 'us');
		const us = readFileSync(join(out, 'season-fields.csv'), 'utf8')
			.trim()
			.split('\n')
			.map((line) => line.split(','));
		const value = (name: string) => Number(us[1]![us[0]!.indexOf(name)]);
		expect(us[0]!.slice(0, 15).join()).toBe(table[0]);
		// NIST Handbook 44, App. C: a pound is 0.453 592 37 kg, an acre 4 046.856 422 4 m².
		expect(value('corrected_lb') * 0.45359237).toBeCloseTo(value('corrected_kg'), 6);
		expect(value('area_ac') * 0.40468564224).toBeCloseTo(value('area_ha'), 9);
		expect(value('yield_bu_ac') * value('area_ac')).toBeCloseTo(value('dry_bu'), 6);
	});
});
