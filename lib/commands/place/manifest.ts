import { createHash } from 'node:crypto';
import { readdir, readFile, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { chunksOf } from './chunks.ts';

/** The list of files that this program wrote to a results folder. */
export const MANIFEST = 'files.json';
const SCHEMA = 'steelyard.files/1';
/** Output folders of `intake` have this list in intake.json. */
const LISTS: readonly (readonly [name: string, schema: string])[] = [
	[MANIFEST, SCHEMA],
	['intake.json', 'steelyard.intake/1'],
];
/** Largest list accepted, bytes: a season's intake has some megabytes. */
const LARGEST = 1 << 26;

export interface Written {
	file: string;
	bytes: number;
	sha256: string;
}

/** The manifest's bytes; the same files give the same bytes. */
export function manifestText(files: readonly Written[]): string {
	return `${JSON.stringify({ schema: SCHEMA, files }, null, 2)}\n`;
}

/** The list in a folder and its file name; null where there is none that this program wrote. */
export async function readManifest(dir: string): Promise<{ name: string; files: Written[] } | null> {
	for (const [name, schema] of LISTS) {
		const path = join(dir, name);
		const about = await stat(path).catch(() => null);
		if (!about?.isFile() || about.size > LARGEST) continue;
		try {
			const given = JSON.parse(await readFile(path, 'utf8')) as { schema?: unknown; files?: unknown };
			if (given.schema === schema && Array.isArray(given.files) && given.files.every(isWritten))
				return { name, files: given.files };
		} catch {
			// A file of that name by another program, or an incomplete one.
		}
	}
	return null;
}

function isWritten(value: unknown): value is Written {
	const { file, bytes, sha256 } = (value ?? {}) as Record<string, unknown>;
	const plain = (part: string) => part !== '' && part !== '.' && part !== '..';
	return (
		typeof file === 'string' &&
		!file.includes('\\') &&
		file.split('/').every(plain) &&
		typeof bytes === 'number' &&
		typeof sha256 === 'string'
	);
}

/**
 * Names in a folder that this program did not write or that have changed since: everything except files with the size and
 * SHA-256 in the folder's list, and the folders that hold such files.
 */
export async function unlistedFiles(dir: string): Promise<string[]> {
	const list = await readManifest(dir);
	const written = new Map(list?.files.map((w) => [w.file, w]));
	const folders = foldersOf([...written.keys()]);
	const unlisted: string[] = [];
	const look = async (inside: string): Promise<void> => {
		for (const entry of await readdir(join(dir, inside), { withFileTypes: true })) {
			const name = inside === '' ? entry.name : `${inside}/${entry.name}`;
			if (name === list?.name && entry.isFile() && written.size > 0) continue;
			if (entry.isDirectory() && folders.includes(name)) {
				await look(name);
				continue;
			}
			const ours = entry.isFile() ? written.get(name) : undefined;
			if (ours === undefined || !(await isAsWritten(join(dir, name), ours))) unlisted.push(name);
		}
	};
	await look('');
	return unlisted.sort();
}

/** Folders that hold the files, deepest first. */
export function foldersOf(files: readonly string[]): string[] {
	const all = new Set<string>();
	for (const file of files) {
		const parts = file.split('/');
		for (let k = 1; k < parts.length; k++) all.add(parts.slice(0, k).join('/'));
	}
	return [...all].sort((a, b) => b.length - a.length);
}

async function isAsWritten(path: string, { bytes, sha256 }: Written): Promise<boolean> {
	if ((await stat(path)).size !== bytes) return false;
	const hash = createHash('sha256');
	for await (const chunk of chunksOf(path)) hash.update(chunk);
	return hash.digest('hex') === sha256;
}
