import { createReadStream } from 'node:fs';
import { mkdir, open, readdir, realpath, rename, rm, rmdir, stat } from 'node:fs/promises';
import { basename, dirname, join, relative, resolve, sep } from 'node:path';
import { CallFault, type Folder, InputFault, type Output, type Source } from '../index.ts';

/** A folder of the disk as the library sees it: files by relative name, read in chunks. */
export async function folderFromDisk(path: string): Promise<Folder> {
	const root = resolve(path);
	const about = await stat(root).catch(() => null);
	if (!about?.isDirectory()) throw folderFault(path, about ? 'a file, not a folder' : 'no such folder');
	const files = new Map<string, Source>();
	await list(await realpath(root), root, root, files, 0);
	return files;
}

function folderFault(path: string, found: string): InputFault {
	return new InputFault([
		{ file: path, row: null, column: null, found, why: 'a field folder with a field.json is wanted here' },
	]);
}

/** Field folders are shallow; a few levels keep a mistaken call (a home folder, say) from walking a whole disk. */
const DEEPEST = 4;

async function list(real: string, root: string, at: string, files: Map<string, Source>, depth: number): Promise<void> {
	for (const entry of (await readdir(at, { withFileTypes: true })).sort((a, b) => (a.name < b.name ? -1 : 1))) {
		const path = join(at, entry.name);
		if (entry.isDirectory()) {
			if (depth < DEEPEST && !entry.name.startsWith('.') && entry.name !== 'node_modules') {
				await list(real, root, path, files, depth + 1);
			}
			continue;
		}
		const about = await stat(path).catch(() => null);
		if (!about?.isFile()) continue;
		// A link that leads out of the folder is a path that leaves it.
		if (entry.isSymbolicLink() && !(await realpath(path)).startsWith(real + sep)) continue;
		const name = relative(root, path).split(sep).join('/');
		files.set(name, {
			name,
			bytes: about.size,
			chunks: () => createReadStream(path, { highWaterMark: 1 << 20 }),
		});
	}
}

/** Says why a folder cannot take results, before any work is done. */
export async function mustBeFree(dir: string, field: string, replace: boolean): Promise<void> {
	const out = resolve(dir);
	const input = resolve(field);
	// Replacing a folder that holds the input would destroy what the user gave.
	if (input === out || input.startsWith(out + sep)) {
		throw new CallFault(`--out ${dir} would overwrite the field folder itself; name another folder`);
	}
	const about = await stat(out).catch(() => null);
	if (!about) return;
	if (!about.isDirectory()) throw new CallFault(`--out ${dir} is a file; name a folder`);
	if (!replace && (await readdir(out)).length > 0) {
		throw new CallFault(`--out ${dir} holds files already; name an empty folder, or say --replace`);
	}
}

/**
 * Writes files into a folder beside `dir`, then puts it in its place: `dir` appears whole or not at all. Folders
 * that stand inside an old `dir` (a season's nested fields) move along when `keepFolders`.
 */
export async function publish(dir: string, outputs: Iterable<Output>, keepFolders = false): Promise<void> {
	const out = resolve(dir);
	const building = join(dirname(out), `.${basename(out)}.building-${process.pid}`);
	const undo = () => rm(building, { recursive: true, force: true });
	await undo();
	try {
		await mkdir(dirname(out), { recursive: true });
		await mkdir(building);
	} catch (fault) {
		const code = (fault as NodeJS.ErrnoException).code ?? 'unknown fault';
		throw new CallFault(`${dir} cannot be made (${code}); name a folder in a place that can be written to`);
	}
	const stopped = () => {
		undo().finally(() => process.exit(130));
	};
	process.once('SIGINT', stopped);
	process.once('SIGTERM', stopped);
	try {
		for (const output of outputs) await writeWhole(join(building, output.name), output);
		await swap(out, building, keepFolders);
	} catch (fault) {
		await undo();
		throw fault;
	} finally {
		process.off('SIGINT', stopped);
		process.off('SIGTERM', stopped);
	}
}

async function swap(out: string, building: string, keepFolders: boolean): Promise<void> {
	const old = join(dirname(out), `.${basename(out)}.old-${process.pid}`);
	const there = await stat(out).catch(() => null);
	if (!there) return rename(building, out);
	const held = await readdir(out, { withFileTypes: true });
	if (held.length === 0) {
		await rmdir(out);
		return rename(building, out);
	}
	if (keepFolders) {
		for (const entry of held) {
			if (entry.isDirectory()) await rename(join(out, entry.name), join(building, entry.name));
		}
	}
	await rename(out, old);
	try {
		await rename(building, out);
	} catch (fault) {
		await rename(old, out);
		throw fault;
	}
	await rm(old, { recursive: true, force: true });
}

/** One file, written in chunks and on the disk before the call ends. */
export async function writeWhole(path: string, output: Output): Promise<void> {
	const file = await open(path, 'w');
	try {
		for await (const chunk of output.chunks()) await file.writeFile(chunk);
		await file.sync();
	} finally {
		await file.close();
	}
}
