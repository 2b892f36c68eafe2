/** The command from folder to files, in processes of its own: against the parse alone, growth, memory. */
import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { mean } from 'd3-array';
import type { Row } from './row.ts';
import { tiled } from './tiled.ts';

const here = fileURLToPath(new URL('.', import.meta.url));
const root = fileURLToPath(new URL('../..', import.meta.url));
const samples = join(root, 'sample-fields');
const [first] = readdirSync(samples, { withFileTypes: true }).filter((e) => e.isDirectory());
const sample = join(samples, first!.name);

interface Used {
	/** Processor time of all its threads. */
	spent_ms: number;
	wall_ms: number;
	user_ms: number;
	most_mb: number;
}

function child(...words: string[]): Used {
	const done = spawnSync(process.execPath, [join(here, 'child.mjs'), ...words], { encoding: 'utf8' });
	if (done.status !== 0) throw new Error(`${words.join(' ')}: ${done.stderr}`);
	return JSON.parse(done.stderr.trim().split('\n').at(-1)!) as Used;
}

const meanOf = (list: Used[]): Pick<Used, 'wall_ms' | 'spent_ms'> => ({
	wall_ms: mean(list, (u) => u.wall_ms)!,
	spent_ms: mean(list, (u) => u.spent_ms)!,
});

/** The sample field so many times over, as a folder. */
export function fieldOf(
	copies: number,
	room: string,
): { folder: string; logs: string[]; records: number; dumps: number } {
	const read = (name: string) => [name, readFileSync(join(sample, name), 'utf8')] as const;
	const files = new Map(
		readdirSync(sample)
			.filter((name) => name !== 'README.md')
			.map(read),
	);
	const folder = join(room, `field-${copies}`);
	mkdirSync(folder, { recursive: true });
	let records = 0;
	let dumps = 0;
	const logs: string[] = [];
	for (const [name, text] of tiled({ files }, copies)) {
		writeFileSync(join(folder, name), text);
		if (name === 'cart.csv') dumps = text.split(',dump,').length - 1;
		if (!name.startsWith('combine-')) continue;
		logs.push(join(folder, name));
		records += text.split('\n').length - 2;
	}
	return { folder, logs, records, dumps };
}

/** Records from which on the whole job is held against the parse. */
const LARGE = 500_000;

/** @param sizes copies of the sample field, from small to large */
export function jobs(sizes: readonly number[]): Row[] {
	const room = mkdtempSync(join(tmpdir(), 'steelyard-bench-'));
	const rows: Row[] = [];
	try {
		const small = fieldOf(1, room);
		const once = [0, 1, 2].map(() => child('correct', small.folder, '--out', join(room, 'out'), '--replace'));
		const least = (list: Used[], of: 'wall_ms' | 'spent_ms') => Math.min(...list.map((u) => u[of])) / 1000;
		const spent = (list: Used[]) => `${least(list, 'spent_ms').toFixed(1)} s of processor time`;
		rows.push({
			what: 'sample field, correct',
			value: least(once, 'wall_ms'),
			unit: 's',
			bound: 3.5,
			note: `command to ten files, ${small.records} records; ${spent(once)}`,
		});
		const check = [0, 1, 2].map(() => child('check', small.folder));
		rows.push({
			what: 'sample field, check',
			value: least(check, 'wall_ms'),
			unit: 's',
			bound: 2,
			note: `no grid; ${spent(check)}`,
		});
		let before: { records: number; wall_ms: number } | null = null;
		for (const copies of sizes) {
			const field = fieldOf(copies, room);
			const parsed = () => child('--parse', ...field.logs);
			const earlier = [parsed(), parsed()];
			const out = join(room, `out-${copies}`);
			const job = child('correct', field.folder, '--out', out);
			rmSync(out, { recursive: true });
			// The machine's speed changes within a minute: half of them before, half after.
			const parse = meanOf([...earlier, parsed(), parsed()]);
			const size = field.records.toLocaleString('en-US');
			rows.push({
				what: `${size} records, correct`,
				value: job.wall_ms / parse.wall_ms,
				unit: '×',
				// What a run always takes is most of a small one.
				bound: field.records < LARGE ? null : 12,
				note: `PapaParse alone on the same files (mean of four, ${(parse.wall_ms / 1000).toFixed(1)} s); ${(job.wall_ms / 1000).toFixed(1)} s, ${(job.spent_ms / 1000).toFixed(1)} s of processor time (${(job.spent_ms / parse.spent_ms).toFixed(1)} ×)`,
			});
			rows.push({
				what: `${size} records, memory`,
				value: job.most_mb / 1024,
				unit: 'GB',
				bound: 1.2,
				note: 'most resident',
			});
			if (before) {
				rows.push({
					what: `growth to ${size} records and ${field.dumps} dumps`,
					value: job.wall_ms / before.wall_ms / (field.records / before.records),
					unit: '×',
					bound: 1.15,
					note: `linear from ${before.records.toLocaleString('en-US')}`,
				});
			} else before = { records: field.records, wall_ms: job.wall_ms };
			rmSync(field.folder, { recursive: true });
			const general = generalTools(field, room);
			if (general) {
				rows.push({
					what: `${size} records, against general tools`,
					value: job.wall_ms / general,
					unit: '×',
					bound: null,
					note: `pandas and scipy: shift, yields, a 10 m grid (${(general / 1000).toFixed(1)} s)`,
				});
			}
		}
	} finally {
		rmSync(room, { recursive: true, force: true });
	}
	return rows;
}

/** A script of general tools on the same logs, where Python has them; null where not. */
function generalTools(field: { logs: string[] }, room: string): number | null {
	const there = spawnSync('python3', ['-c', 'import pandas, scipy'], { encoding: 'utf8' });
	if (there.status !== 0 || !field.logs.every(existsSync)) return null;
	const from = performance.now();
	const done = spawnSync('python3', [join(here, 'general.py'), join(room, 'general.csv'), ...field.logs]);
	return done.status === 0 ? performance.now() - from : null;
}

/** What the command needs installed, of this folder's own packages. */
export function installed(): Row {
	const lock = JSON.parse(readFileSync(join(root, 'package-lock.json'), 'utf8')) as {
		packages: Record<string, { dev?: boolean; devOptional?: boolean; optional?: boolean; devDependencies?: object }>;
	};
	// A compiler that a dependency may use if it is there anyway is nothing that it brings.
	const ours = Object.keys(lock.packages['']?.devDependencies ?? {}).map((name) => `node_modules/${name}`);
	const folders = Object.entries(lock.packages)
		.filter(([path, p]) => path !== '' && !p.dev && !p.devOptional && !p.optional && !ours.includes(path))
		.filter(([path]) => existsSync(join(root, path)))
		.map(([path]) => join(root, path));
	const size = (path: string): number =>
		readdirSync(path, { withFileTypes: true }).reduce((sum, e) => {
			if (e.isDirectory()) return e.name === 'node_modules' ? sum : sum + size(join(path, e.name));
			return sum + readFileSync(join(path, e.name)).length;
		}, 0);
	const bytes = folders.reduce((sum, f) => sum + size(f), size(join(root, 'dist')));
	return {
		what: 'installed for the command',
		value: bytes / 1e6,
		unit: 'MB',
		bound: 60,
		note: `${folders.length} packages and dist`,
	};
}
