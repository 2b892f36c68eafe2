import { spawn, spawnSync } from 'node:child_process';
import {
	appendFileSync,
	chmodSync,
	cpSync,
	existsSync,
	mkdirSync,
	mkdtempSync,
	readdirSync,
	readFileSync,
	renameSync,
	rmSync,
	symlinkSync,
	writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { Place } from '../../lib/commands/place/place.ts';
import { season } from '../../lib/commands/season.ts';
import type { Output } from '../../lib/index.ts';
import { littleField, writeField } from './little.ts';

let dir: string;
beforeAll(() => {
	dir = mkdtempSync(join(tmpdir(), 'steelyard-place-'));
});
afterAll(() => rmSync(dir, { recursive: true, force: true }));

let fresh = 0;
const place = () => join(dir, `p${++fresh}`);
const folder = (files: Record<string, string> = { 'field.json': '{}' }) => writeField(place(), files);
const textOf = (path: string) => readFileSync(path, 'utf8');
const hidden = () => readdirSync(dir).filter((n) => n.startsWith('.') || n.endsWith('replaced'));

function files(content: Record<string, string>): Output[] {
	return Object.entries(content).map(([name, text]) => ({ name, chunks: () => [new TextEncoder().encode(text)] }));
}

/** What `correct` does around its work. */
async function write(
	out: string,
	content: Record<string, string> = { 'a.csv': 'new' },
	{ input = folder(), replace = false } = {},
): Promise<void> {
	const mine = await Place.take(out, { inputs: [input], replace });
	try {
		await mine.publish(files(content));
	} finally {
		await mine.release();
	}
}

describe('what the user gave survives', () => {
	it('under whatever name a folder is reached', async () => {
		const root = writeField(place(), { 'F/field.json': '{}' });
		const link = place();
		symlinkSync(root, link);
		for (const [input, out] of [
			[join(root, 'F'), join(link, 'F')],
			[join(link, 'F'), join(root, 'F')],
			[join(link, 'F'), root],
			[join(root, 'F'), link],
		] as const) {
			await expect(write(out, {}, { input, replace: true })).rejects.toThrow('holds the input itself');
		}
		for (const out of [root, link])
			await expect(season(root, { out, units: 'us' })).rejects.toThrow('the input itself');
		expect(readdirSync(root)).toEqual(['F']);
		expect(readdirSync(join(root, 'F'))).toEqual(['field.json']);
	});

	it('and so do other files: a changed result, a folder, a note', async () => {
		const out = place();
		await write(out, { 'a.csv': 'old', 'report.html': '<p>' });
		for (const [name, make] of [
			['mine', () => mkdirSync(join(out, 'mine'))],
			['note.txt', () => writeFileSync(join(out, 'note.txt'), 'mine')],
			['report.html', () => appendFileSync(join(out, 'report.html'), '<!-- read -->')],
			['files.json', () => writeFileSync(join(out, 'files.json'), '{"schema":"steelyard.files/1","files":[]}')],
		] as const) {
			make();
			await expect(write(out, { 'a.csv': 'new' }, { replace: true })).rejects.toThrow(name);
			expect(textOf(join(out, 'a.csv'))).toBe('old');
			if (name === 'mine' || name === 'note.txt') rmSync(join(out, name), { recursive: true });
		}
		expect(hidden()).toEqual([]);
	});

	it('season leaves what it did not write, and says what is no result', async () => {
		const root = place();
		writeField(join(root, 'south'), littleField());
		writeField(join(root, 'south', 'strip'), littleField({ 'A.csv': null }));
		const out = place();
		mkdirSync(join(out, 'south', 'strip'), { recursive: true });
		writeFileSync(join(out, 'south', 'note.txt'), 'mine');
		writeField(join(out, 'other'), { 'result.json': '{"schema":"steelyard.result/1"}' });
		writeField(join(out, 'deep'), { 'result.json': '['.repeat(100_000) });
		const first = await season(root, { out, units: 'us' });
		expect(first.text).toMatch(/other is not a result[\s\S]*1 of 2/);
		expect(first.text).toMatch(/deep is not a result/);
		expect(textOf(join(out, 'season-fields.csv')).split('\n').slice(1)).toEqual([expect.stringMatching(/^south,/), '']);
		writeFileSync(join(out, 'south', 'strip', 'x.txt'), 'mine');
		await season(root, { out, units: 'us' });
		expect(textOf(join(out, 'south', 'note.txt'))).toBe('mine');
		expect(textOf(join(out, 'south', 'strip', 'x.txt'))).toBe('mine');
		writeFileSync(join(out, 'south', 'clean.csv'), 'mine as well');
		expect((await season(root, { out, units: 'us' })).text).toMatch(/south: not corrected.*clean\.csv/);
		expect(textOf(join(out, 'south', 'clean.csv'))).toBe('mine as well');
		writeFileSync(join(out, 'season-fields.csv'), 'wages');
		await expect(season(root, { out, units: 'us' })).rejects.toThrow('season-fields.csv');
		expect(hidden()).toEqual([]);
	});
});

describe('two runs and one folder', () => {
	it('the second is told so; what a killed one leaves is no hindrance', async () => {
		const out = place();
		const first = await Place.take(out, { inputs: [] });
		await expect(write(out)).rejects.toThrow('another run is writing there');
		await first.publish(files({ 'a.csv': 'first' }));
		await first.release();
		expect(textOf(join(out, 'a.csv'))).toBe('first');

		const killed = spawn(process.execPath, ['-e', '']);
		await new Promise((done) => killed.once('exit', done));
		const left = join(dir, `.p${fresh - 1}.building`);
		for (const owner of [{ pid: killed.pid, began: '1' }, { pid: process.pid, began: 'other' }, null]) {
			mkdirSync(join(left, 'built'), { recursive: true });
			writeFileSync(join(left, 'built', 'a.csv'), 'hal');
			if (owner) {
				const host = spawnSync('hostname', { encoding: 'utf8' }).stdout.trim();
				writeFileSync(join(left, 'owner.json'), JSON.stringify({ ...owner, host }));
			}
			mkdirSync(`${left}-${killed.pid}`);
			await write(out, { 'a.csv': 'second' }, { replace: true });
			expect(hidden()).toEqual([]);
		}
	});

	it('a replacement cut short between its renames is brought to its end', async () => {
		const out = place();
		await write(out, { 'a.csv': 'old', 'b.csv': 'old' });
		const aside = `${out}.being-replaced`;
		// Before the second rename: the old result is all there is.
		renameSync(out, aside);
		await expect(write(out)).rejects.toThrow('holds files already');
		expect(textOf(join(out, 'a.csv'))).toBe('old');
		// After it, with the old one partly cleared away.
		cpSync(out, aside, { recursive: true });
		rmSync(join(aside, 'a.csv'));
		writeFileSync(join(aside, 'note.txt'), 'mine');
		await expect(write(out, {}, { replace: true })).rejects.toThrow('note.txt');
		expect(textOf(join(out, 'note.txt'))).toBe('mine');
		rmSync(join(out, 'note.txt'));
		await write(out, { 'a.csv': 'new' }, { replace: true });
		expect(readdirSync(out).sort()).toEqual(['a.csv', 'files.json']);
		expect(hidden()).toEqual([]);
	});

	it('a fault while writing leaves the old result, and no empty folders', async () => {
		const out = place();
		await write(out, { 'a.csv': 'old' });
		const mine = await Place.take(out, { inputs: [], replace: true });
		const broken: Output = {
			name: 'b.csv',
			chunks: function* () {
				yield new Uint8Array(3);
				throw new Error('no more');
			},
		};
		await expect(mine.publish([...files({ 'a.csv': 'new' }), broken])).rejects.toThrow('no more');
		await mine.release();
		expect(textOf(join(out, 'a.csv'))).toBe('old');
		const above = place();
		await (await Place.take(join(above, 'a', 'b'), { inputs: [] })).release();
		expect(existsSync(above)).toBe(false);
		expect(hidden()).toEqual([]);
	});
});

describe('places that cannot be written', () => {
	it.skipIf(process.getuid?.() === 0)('a folder that can only be read', async () => {
		const above = place();
		mkdirSync(above);
		chmodSync(above, 0o555);
		await expect(write(join(above, 'out'))).rejects.toThrow('may not write');
	});

	it('a full disk', async (context) => {
		const at = place();
		mkdirSync(at);
		const mounted = spawnSync('mount', ['-t', 'tmpfs', '-o', 'size=64k', 'tmpfs', at]).status === 0;
		if (!mounted) return context.skip();
		try {
			await write(join(at, 'out'), { 'a.csv': 'old' });
			await expect(write(join(at, 'out'), { 'a.csv': 'x'.repeat(1 << 20) }, { replace: true })).rejects.toThrow(
				'the disk is full',
			);
			expect(textOf(join(at, 'out', 'a.csv'))).toBe('old');
			expect(readdirSync(at)).toEqual(['out']);
		} finally {
			spawnSync('umount', [at]);
		}
	});

	it('a file in the way, a link that leads nowhere, a name too long', async () => {
		const file = place();
		writeFileSync(file, 'mine');
		const link = place();
		symlinkSync(join(dir, 'nowhere'), link);
		for (const out of [file, join(file, 'below'), link, join(dir, 'x'.repeat(250))]) {
			await expect(write(out, {}, { replace: true }), out).rejects.toMatchObject({ name: 'CallFault' });
		}
		expect(textOf(file)).toBe('mine');
		expect(hidden()).toEqual([]);
	});
});
