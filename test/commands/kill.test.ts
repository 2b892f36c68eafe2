import { spawn } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { build } from 'vite';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { Place } from '../../lib/commands/place/place.ts';
import { random } from '../sim/random.ts';
import { littleField, writeField } from './little.ts';

/** Kills of each kind; `STEELYARD_KILLS=50 npx vitest run test/commands/kill.test.ts` takes its time. */
const KILLS = Number(process.env.STEELYARD_KILLS ?? 0);
const dist = fileURLToPath(new URL('../../dist/lib/commands/', import.meta.url));
let dir: string;
beforeAll(() => {
	dir = mkdtempSync(join(tmpdir(), 'steelyard-kill-'));
});
afterAll(() => rmSync(dir, { recursive: true, force: true }));

interface Listed {
	files: { file: string; sha256: string }[];
}

/** True where a folder holds all that its list names, as it was written. */
function whole(path: string): boolean {
	if (!existsSync(join(path, 'files.json'))) return false;
	const { files } = JSON.parse(readFileSync(join(path, 'files.json'), 'utf8')) as Listed;
	return files.every(({ file, sha256 }) => {
		const bytes = existsSync(join(path, file)) ? readFileSync(join(path, file)) : null;
		return bytes !== null && createHash('sha256').update(bytes).digest('hex') === sha256;
	});
}

/** Runs a command and kills it after some milliseconds. */
async function killed(args: string[], wait_ms: number): Promise<void> {
	const child = spawn(process.execPath, args, { stdio: 'ignore' });
	const ended = new Promise((done) => child.once('exit', done));
	const timer = setTimeout(() => child.kill('SIGKILL'), wait_ms);
	await ended;
	clearTimeout(timer);
}

/** Runs a script and kills it some milliseconds after its first word; false if it ended without one. */
async function killedAtWork(script: string, wait_ms: number): Promise<boolean> {
	const child = spawn(process.execPath, [script], { stdio: ['ignore', 'pipe', 'ignore'] });
	const ended = new Promise((done) => child.once('exit', done));
	let worked = false;
	child.stdout.once('data', () => {
		worked = true;
		setTimeout(() => child.kill('SIGKILL'), wait_ms);
	});
	await ended;
	return worked;
}

describe('runs killed at any moment', () => {
	it(`a folder being replaced again and again: what stands is whole (${KILLS || 12} kills)`, async () => {
		const out = join(dir, 'again');
		const tools = fileURLToPath(new URL('../.artifacts/place', import.meta.url));
		await build({
			configFile: false,
			logLevel: 'error',
			build: { ssr: fileURLToPath(new URL('../../lib/commands/place/place.ts', import.meta.url)), outDir: tools },
		});
		// Replaces for as long as it lives: nearly all of its time is spent where a kill could hurt.
		const script = join(tools, 'replace.mjs');
		writeFileSync(
			script,
			`import { Place } from './place.js';
			for (let k = 0; ; k++) {
				const place = await Place.take(${JSON.stringify(out)}, { inputs: [], replace: true });
				const chunks = () => [new TextEncoder().encode(String(Math.random()).repeat(2000))];
				await place.publish(Array.from({ length: 6 }, (_, f) => ({ name: f + '.csv', chunks })));
				await place.release();
				if (k === 0) console.log('at work');
			}`,
		);
		const first = await Place.take(out, { inputs: [] });
		await first.publish([{ name: '0.csv', chunks: () => [new Uint8Array(9)] }]);
		await first.release();
		const r = random(1, 'kills');
		for (let k = 0; k < (KILLS || 12); k++) {
			expect(await killedAtWork(script, r.between(0, 60))).toBe(true);
			const standing = [out, `${out}.being-replaced`].filter((path) => existsSync(path));
			expect(standing.some(whole), readdirSync(dir).join()).toBe(true);
		}
		const last = await Place.take(out, { inputs: [], replace: true });
		await last.publish([{ name: 'last.csv', chunks: () => [new Uint8Array(9)] }]);
		await last.release();
		expect(readdirSync(out).sort()).toEqual(['files.json', 'last.csv']);
		expect(readdirSync(dir).filter((name) => name.startsWith('.') || name.includes('being'))).toEqual([]);
	});

	it(`correct and season (${KILLS || 1} kills each): results whole or absent, the input untouched`, async () => {
		const root = join(dir, 'root');
		writeField(join(root, 'F'), littleField());
		const input = () => readdirSync(join(root, 'F')).map((name) => readFileSync(join(root, 'F', name), 'latin1'));
		const before = input();
		const out = join(dir, 'F-out');
		const all = join(dir, 'season-out');
		const r = random(2, 'kills');
		const main = join(dist, 'main.js');
		for (let k = 0; k < (KILLS || 1); k++) {
			await killed([main, 'correct', join(root, 'F'), '--out', out, '--replace'], r.between(300, 3000));
			await killed([main, 'season', root, '--out', all], r.between(300, 3000));
			for (const path of [out, join(all, 'F')]) {
				if (existsSync(path)) expect(whole(path), path).toBe(true);
			}
			expect(input()).toEqual(before);
		}
		await killed([main, 'correct', join(root, 'F'), '--out', out, '--replace'], 100_000);
		await killed([main, 'season', root, '--out', all], 100_000);
		expect([whole(out), whole(join(all, 'F'))]).toEqual([true, true]);
		expect(readdirSync(dir).filter((name) => name.startsWith('.') || name.includes('being'))).toEqual([]);
		expect(readdirSync(all).sort()).toEqual(['F', 'season-combines.csv', 'season-fields.csv']);
	});
});
