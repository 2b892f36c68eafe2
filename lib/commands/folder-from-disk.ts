import { createHash } from 'node:crypto';
import { readdir, realpath, stat } from 'node:fs/promises';
import { join, relative, resolve, sep } from 'node:path';
import { type Folder, InputFault, type Source, wholeFile } from '../index.ts';
import { chunksOf } from './place/chunks.ts';

/** A folder on disk as the library's `Folder`: files by relative name, read in chunks. */
export async function folderFromDisk(path: string, deepest = DEEPEST): Promise<Folder> {
	const root = resolve(path);
	const about = await stat(root).catch(() => null);
	if (!about?.isDirectory()) {
		const found = about ? 'a file, not a folder' : 'no such folder';
		throw new InputFault([wholeFile(path, found, 'expected a field folder with a field.json')]);
	}
	const files = new Map<string, Source>();
	await list({ real: await realpath(root), root, files, deepest }, root, 0);
	return files;
}

/** Field folders are shallow; this limit keeps a mistaken call (a home folder, say) from listing a whole disk. */
const DEEPEST = 4;

interface Walk {
	real: string;
	root: string;
	files: Map<string, Source>;
	deepest: number;
}

async function list(walk: Walk, at: string, depth: number): Promise<void> {
	const { real, root, files, deepest } = walk;
	for (const entry of (await readdir(at, { withFileTypes: true })).sort((a, b) => (a.name < b.name ? -1 : 1))) {
		const path = join(at, entry.name);
		if (entry.isDirectory()) {
			if (depth < deepest && !entry.name.startsWith('.') && entry.name !== 'node_modules') {
				await list(walk, path, depth + 1);
			}
			continue;
		}
		const about = await stat(path).catch(() => null);
		if (!about?.isFile()) continue;
		// A link to outside the folder counts as a path that leaves it.
		if (entry.isSymbolicLink() && !(await realpath(path)).startsWith(real + sep)) continue;
		const name = relative(root, path).split(sep).join('/');
		files.set(name, {
			name,
			bytes: about.size,
			chunks: () => inputOf(path, name),
			sha256: () => createHash('sha256'),
		});
	}
}

/** A file's bytes; a missing or unreadable file is a fault that names it. */
async function* inputOf(path: string, name: string): AsyncGenerator<Uint8Array> {
	try {
		yield* chunksOf(path);
	} catch (fault) {
		const { code } = fault as NodeJS.ErrnoException;
		if (code === undefined) throw fault;
		const why = code === 'ENOENT' ? 'the file was there and is gone' : `the file cannot be read (${code})`;
		throw new InputFault([wholeFile(name, '', why)]);
	}
}

/** One file on disk as a source with the given name. */
export function sourceFromDisk(path: string, name: string, bytes: number): Source {
	return { name, bytes, chunks: () => inputOf(path, name), sha256: () => createHash('sha256') };
}
