import { spawnSync } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { Worker } from 'node:worker_threads';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { folderFromDisk } from '../../lib/commands/folder-from-disk.ts';
import { correct } from '../../lib/commands/jobs.ts';
import { Place } from '../../lib/commands/place/place.ts';
import { filesAhead } from '../../lib/commands/threads/files-ahead.ts';
import { together } from '../../lib/commands/threads/parts.ts';
import { share, transferable } from '../../lib/commands/threads/shared-columns.ts';
import { Threads } from '../../lib/commands/threads/threads.ts';
import type { Work } from '../../lib/commands/threads/work.ts';
import { type RunOfRecords, runField } from '../../lib/index.ts';
import { littleField, writeField } from './little.ts';

const bundle = new URL('../../dist/lib/commands/main.js', import.meta.url);
let dir: string;
beforeAll(() => {
	dir = mkdtempSync(join(tmpdir(), 'steelyard-threads-'));
});
afterAll(() => rmSync(dir, { recursive: true, force: true }));

/** Threads that list what they did, and what failed there. */
class Listed extends Threads {
	readonly done: string[] = [];
	readonly failed: string[] = [];
	override order<K extends keyof Work>(
		task: K,
		input: Parameters<Work[K]>[0],
		tell?: Parameters<Work[K]>[1],
	): Promise<Awaited<ReturnType<Work[K]>>> {
		const ordered = super.order(task, input, tell);
		ordered.then(
			() => this.done.push(task),
			() => this.failed.push(task),
		);
		return ordered;
	}
}

describe('other threads', () => {
	it('none, one, two, or some that fail: the same bytes', async () => {
		const from = writeField(join(dir, 'field'), littleField());
		const run = async (name: string, threads?: Threads) => {
			const out = join(dir, name);
			await correct(from, { out, units: 'us', ...(threads ? { threads } : {}) });
			return new Map(readdirSync(out).map((file) => [file, readFileSync(join(out, file), 'base64')]));
		};
		const alone = await run('alone');
		for (const most of [1, 2]) {
			const threads = new Listed(bundle, most);
			expect(await run(`with-${most}`, threads)).toEqual(alone);
			expect(threads.done).toContain('map');
			expect(threads.done).toContain('write');
			expect(threads.failed).toEqual([]);
			await threads.end();
		}
		const broken = new Listed(pathToFileURL(join(dir, 'nothing.js')), 1);
		expect(await run('broken', broken)).toEqual(alone);
		expect(broken.done).toEqual([]);
		expect(broken.failed).toContain('map');
		await broken.end();
	});

	it('leave nothing of files that were begun where the run then fails', async () => {
		const from = writeField(join(dir, 'failing'), littleField());
		const threads = new Listed(bundle, 1);
		const place = await Place.take(join(dir, 'never'), { inputs: [from] });
		const ahead = filesAhead(threads, place.built, { units: 'us', bushels: false });
		const known = (run: RunOfRecords) => {
			ahead?.begin(run);
			throw new Error('after that');
		};
		await expect(runField(await folderFromDisk(from), { grid: false, known })).rejects.toThrow('after that');
		await vi.waitFor(() => expect(readdirSync(place.built)).not.toEqual([]), 10_000);
		await ahead?.end();
		await place.release();
		expect(readdirSync(dir).filter((name) => name.includes('never'))).toEqual([]);
		await threads.end();
	});
});

it('a fault does not wait for threads', () => {
	const from = writeField(join(dir, 'faulty'), littleField({ 'cart.csv': 'nothing' }));
	const done = spawnSync(process.execPath, [fileURLToPath(bundle), 'correct', from, '--out', join(dir, 'none')], {
		encoding: 'utf8',
		timeout: 60_000,
	});
	expect(done.signal).toBeNull();
	expect(done.status).toBe(1);
	expect(done.stderr).toContain('cart.csv');
});

describe('columns on their way', () => {
	it('are shared in place if they are long, and keep their values', () => {
		const long = Float64Array.from({ length: 5000 }, (_, i) => i / 7);
		const input = { deep: { long, short: Int32Array.of(1, 2) }, again: long, list: [Float64Array.of(1)] };
		share(input);
		expect(input.again).toBe(input.deep.long);
		expect(input.deep.long.buffer).toBeInstanceOf(SharedArrayBuffer);
		expect(input.deep.long).toEqual(long);
		expect(input.deep.short.buffer).toBeInstanceOf(ArrayBuffer);
	});

	it('are handed over once each', () => {
		const one = new Float64Array(4);
		expect(transferable({ a: one, b: [one.subarray(1), Uint8Array.of(1)] })).toHaveLength(2);
	});
});

describe('equal parts', () => {
	const inputs = Array.from({ length: 40 }, (_, k) => ({ path: { n: 0 }, k }));
	const pause = (ms: number) => Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, ms);
	const withWorker = async (from: Worker, use: (worker: Worker) => void) => {
		await once(from, 'online');
		try {
			use(from);
		} finally {
			await from.terminate();
		}
	};

	it('are shared with another thread, and the results stand in order', async () => {
		await withWorker(new Worker(bundle), (worker) => {
			let own = 0;
			const work = () => {
				own++;
				pause(50);
				return null;
			};
			expect(together(worker, 'readingsOf', work, inputs)).toEqual(inputs.map(() => null));
			expect(own).toBeLessThan(inputs.length);
		});
	});

	it('are done here where they fail there', async () => {
		await withWorker(new Worker(bundle), (worker) => {
			const work = ({ k }: { k: number }) => {
				pause(20);
				return k;
			};
			expect(together(worker, 'combineGround', work, inputs)).toEqual(inputs.map(({ k }) => k));
		});
	});

	it('are done here where a thread takes one and is not heard of again', async () => {
		const mute = `require('node:worker_threads').parentPort.on('message', ({ counts }) => {
			Atomics.add(counts, 0, 1);
			Atomics.notify(counts, 0);
		})`;
		await withWorker(new Worker(mute, { eval: true }), (worker) => {
			const done: number[] = [];
			const work = ({ k }: { k: number }) => {
				done.push(k);
				pause(20);
				return k;
			};
			expect(together(worker, 'readingsOf', work, inputs, undefined, 100)).toEqual(inputs.map(({ k }) => k));
			expect(done).not.toEqual(inputs.map(({ k }) => k));
		});
	});
});
