import { mkdir } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import type { Output } from '../../index.ts';
import { writeWhole } from './disk.ts';
import type { Written } from './manifest.ts';

/** Other threads that can write some of the files. */
export interface Elsewhere {
	/** How many at the same time. */
	lanes: number;
	/** The files that can be written there, longest first. */
	names: readonly string[];
	write(name: string, path: string): Promise<Written>;
}

/**
 * Writes all files into a folder, some of them on other threads meanwhile. A file that fails there is written here, so
 * that a fault is the same either way. What is listed is in the order of `outputs`.
 */
export async function writeAll(
	folder: string,
	outputs: readonly Output[],
	elsewhere: Elsewhere | null,
): Promise<Written[]> {
	const written = new Map<string, Written>();
	const byName = new Map(outputs.map((output) => [output.name, output]));
	const shared = (elsewhere?.names ?? []).filter((name) => byName.has(name));
	const own = outputs.map(({ name }) => name).filter((name) => !shared.includes(name));
	const here = async (name: string) => {
		const path = join(folder, name);
		await mkdir(dirname(path), { recursive: true });
		written.set(name, await writeWhole(path, byName.get(name) as Output));
	};
	const lane = async () => {
		for (let name = shared.shift(); name !== undefined; name = shared.shift()) {
			const done = await elsewhere?.write(name, join(folder, name)).catch(() => undefined);
			if (done) written.set(name, done);
			else await here(name);
		}
	};
	const main = async () => {
		for (const name of own) await here(name);
		// Then the shortest of those that no thread has begun.
		for (let name = shared.pop(); name !== undefined; name = shared.pop()) await here(name);
	};
	const ends = await Promise.allSettled([...Array.from({ length: elsewhere?.lanes ?? 0 }, lane), main()]);
	for (const end of ends) if (end.status === 'rejected') throw end.reason;
	return outputs.map(({ name }) => written.get(name) as Written);
}
