/** The sample field as files, and its scene as `view` would serve it. */
import { readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { type Folder, makeScene, type Run, runField, type Scene } from '../../lib/index.ts';

const samples = fileURLToPath(new URL('../../sample-fields', import.meta.url));
export const sampleFolder = `${samples}/${readdirSync(samples, { withFileTypes: true }).find((e) => e.isDirectory())!.name}`;

export function sampleFiles(): Map<string, Uint8Array> {
	const names = readdirSync(sampleFolder).filter((n) => n !== 'README.md');
	return new Map(names.map((name) => [name, new Uint8Array(readFileSync(`${sampleFolder}/${name}`))]));
}

export async function sampleRun(): Promise<{ run: Run; scene: Scene; files: Map<string, Uint8Array> }> {
	const files = sampleFiles();
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
	const run = await runField(folder);
	return { run, scene: makeScene(run), files };
}
