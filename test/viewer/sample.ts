/** The sample field as files, and its scene as `view` would serve it. */
import { readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { type Folder, makeScene, type Progress, type Run, runField, type Scene } from '../../lib/index.ts';
import { SMALL, simulate } from '../sim/index.ts';

const samples = fileURLToPath(new URL('../../sample-fields', import.meta.url));
export const sampleFolder = `${samples}/${readdirSync(samples, { withFileTypes: true }).find((e) => e.isDirectory())!.name}`;

export function sampleFiles(): Map<string, Uint8Array> {
	const names = readdirSync(sampleFolder).filter((n) => n !== 'README.md');
	return new Map(names.map((name) => [name, new Uint8Array(readFileSync(`${sampleFolder}/${name}`))]));
}

/** The sample field's first 80 minutes, two tickets of it: enough to be read and corrected, in half the time. */
export function sampleStart(): Map<string, Uint8Array> {
	const until = '2026-10-14T11:44';
	return new Map(
		[...sampleFiles()].map(([name, bytes]) => {
			if (!name.endsWith('.csv')) return [name, bytes];
			const [head, ...rows] = new TextDecoder().decode(bytes).trim().split('\n');
			const time = head!.split(',').indexOf('time');
			const early = rows.filter((row) => row.split(',')[time]! < until);
			return [name, new TextEncoder().encode(`${[head, ...early].join('\n')}\n`)];
		}),
	);
}

/** A field as files, run, and as `view` would serve it. */
export interface Ran {
	run: Run;
	scene: Scene;
	files: Map<string, Uint8Array>;
}

export async function ran(files: Map<string, Uint8Array>, progress?: Progress): Promise<Ran> {
	const folder: Folder = new Map(
		[...files].map(([name, bytes]) => [
			name,
			{
				name,
				bytes: bytes.length,
				async *chunks() {
					yield bytes;
				},
			},
		]),
	);
	const run = await runField(folder, {}, progress);
	return { run, scene: makeScene(run), files };
}

let sample: Promise<Ran> | null = null;
let small: Promise<Ran> | null = null;

/** The sample field, run once for all tests of a worker. */
export function sampleRun(): Promise<Ran> {
	sample ??= ran(sampleFiles());
	return sample;
}

/** A simulated field of 4 ha and seven dumps of two combines, a record every three seconds, for tests that solve it again and again. */
export function smallRun(): Promise<Ran> {
	const { files } = simulate({
		seed: 11,
		kind: 'labeled',
		overrides: (scenario) => {
			SMALL(scenario);
			scenario.stepsPerRecord = 3;
		},
	});
	small ??= ran(new Map([...files].map(([name, text]) => [name, new TextEncoder().encode(text)])));
	return small;
}
