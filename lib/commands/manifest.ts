import { createHash, type Hash } from 'node:crypto';
import { createReadStream } from 'node:fs';
import { readdir, readFile, stat } from 'node:fs/promises';
import { join } from 'node:path';

/** What a results folder says about itself: the files that this program wrote there. */
export const MANIFEST = 'files.json';
const SCHEMA = 'steelyard.files/1';
/** A list of a dozen files is a few kilobytes; a larger one is none of ours. */
const LARGEST = 1 << 20;

export interface Written {
	file: string;
	bytes: number;
	sha256: string;
}

/** The manifest's bytes; the same files give the same bytes. */
export function manifestText(files: readonly Written[]): string {
	return `${JSON.stringify({ schema: SCHEMA, files }, null, 2)}\n`;
}

/** The list that stands in a folder, or null where there is none that this program wrote. */
export async function readManifest(dir: string): Promise<Written[] | null> {
	const path = join(dir, MANIFEST);
	const about = await stat(path).catch(() => null);
	if (!about?.isFile() || about.size > LARGEST) return null;
	try {
		const given = JSON.parse(await readFile(path, 'utf8')) as { schema?: unknown; files?: unknown };
		if (given.schema !== SCHEMA || !Array.isArray(given.files)) return null;
		return given.files.every(isWritten) ? given.files : null;
	} catch {
		return null;
	}
}

function isWritten(value: unknown): value is Written {
	const { file, bytes, sha256 } = (value ?? {}) as Record<string, unknown>;
	const plain = typeof file === 'string' && file !== '' && !/[/\\]/.test(file) && file !== '..' && file !== '.';
	return plain && typeof bytes === 'number' && typeof sha256 === 'string';
}

/**
 * Names in a folder of what this program did not write, or what has changed since: anything but plain files with the
 * size and the SHA-256 of the folder's own list.
 */
export async function strangersIn(dir: string): Promise<string[]> {
	const written = new Map((await readManifest(dir))?.map((w) => [w.file, w]));
	const strangers: string[] = [];
	for (const entry of await readdir(dir, { withFileTypes: true })) {
		if (entry.name === MANIFEST && entry.isFile() && written.size > 0) continue;
		const ours = entry.isFile() ? written.get(entry.name) : undefined;
		if (ours === undefined || !(await isAsWritten(join(dir, entry.name), ours))) strangers.push(entry.name);
	}
	return strangers.sort();
}

async function isAsWritten(path: string, { bytes, sha256 }: Written): Promise<boolean> {
	if ((await stat(path)).size !== bytes) return false;
	const hash: Hash = createHash('sha256');
	for await (const chunk of createReadStream(path, { highWaterMark: 1 << 20 })) hash.update(chunk as Uint8Array);
	return hash.digest('hex') === sha256;
}
