import { mkdir } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import type { Output } from '../../index.ts';
import { writeWhole } from './disk.ts';
import type { Written } from './manifest.ts';

/** Files that are written into the same folder meanwhile. */
export interface Elsewhere {
	names: readonly string[];
	/** Waits until they are written. @returns those that did not fail */
	finish(): Promise<Written[]>;
}

/**
 * Writes all files into a folder, some of them elsewhere meanwhile. A file that fails there is written here, so
 * that a fault is the same either way. What is listed is in the order of `outputs`.
 */
export async function writeAll(
	folder: string,
	outputs: readonly Output[],
	elsewhere: Elsewhere | null,
): Promise<Written[]> {
	const written = new Map<string, Written>();
	const byName = new Map(outputs.map((output) => [output.name, output]));
	const here = async (name: string) => {
		const path = join(folder, name);
		await mkdir(dirname(path), { recursive: true });
		written.set(name, await writeWhole(path, byName.get(name)!));
	};
	for (const { name } of outputs) if (!elsewhere?.names.includes(name)) await here(name);
	for (const file of (await elsewhere?.finish()) ?? []) written.set(file.file, file);
	for (const { name } of outputs) if (!written.has(name)) await here(name);
	return outputs.map(({ name }) => written.get(name)!);
}
