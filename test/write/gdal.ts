import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

/** True where GDAL's tools are there. */
export const hasGdal =
	spawnSync('gdalinfo', ['--version']).status === 0 && spawnSync('ogrinfo', ['--version']).status === 0;

/** Says loudly which checks do not run. */
export function sayIfMissing(what: string): void {
	if (!hasGdal)
		console.warn(
			`SKIPPED: ogrinfo and gdalinfo (Debian package gdal-bin) are missing, so ${what} is not opened by GDAL.`,
		);
}

/** A folder that is gone after `use`. */
export function inFolder<T>(files: Record<string, Uint8Array>, use: (path: (name: string) => string) => T): T {
	const dir = mkdtempSync(join(tmpdir(), 'steelyard-test-'));
	try {
		for (const [name, bytes] of Object.entries(files)) writeFileSync(join(dir, name), bytes);
		return use((name) => join(dir, name));
	} finally {
		rmSync(dir, { recursive: true, force: true });
	}
}

/** A command's output; what it says on standard error is a failure. */
export function run(command: string, args: string[]): string {
	const done = spawnSync(command, args, { encoding: 'utf8', maxBuffer: 1 << 28 });
	if (done.status !== 0 || /ERROR|Warning/.test(done.stderr))
		throw new Error(`${command} ${args.join(' ')}: ${done.stderr}`);
	return done.stdout;
}

export interface Layer {
	count: number;
	/** west, south, east, north */
	extent: [number, number, number, number];
	text: string;
}

/** What ogrinfo says of a vector file's only layer. */
export function layerOf(path: string): Layer {
	const text = run('ogrinfo', ['-ro', '-al', '-so', path]);
	const count = Number(/Feature Count: (\d+)/.exec(text)?.[1]);
	const extent = /Extent: \(([-\d.]+), ([-\d.]+)\) - \(([-\d.]+), ([-\d.]+)\)/.exec(text)?.slice(1).map(Number);
	return { count, extent: extent as Layer['extent'], text };
}

/** One row of numbers from an SQL query on a vector file (SQLite dialect). */
export function query(path: string, sql: string): Record<string, string> {
	const text = execFileSync('ogrinfo', ['-ro', '-dialect', 'sqlite', '-sql', sql, path], { encoding: 'utf8' });
	return Object.fromEntries([...text.matchAll(/^ {2}(\w+) \(\w+(?:\([\d.]+\))?\) = (.*)$/gm)].map((m) => [m[1], m[2]]));
}
