/** Replaces a results folder by a new one, and completes what a killed run left. */
import { lstat, mkdir, readdir, rename, rm, rmdir, stat } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';
import { syncFolder } from './disk.ts';
import { foldersOf, MANIFEST, readManifest, unlistedFiles } from './manifest.ts';
import { isAlive } from './owner.ts';

export const buildingOf = (out: string) => join(dirname(out), `.${basename(out)}.building`);

const replacedOf = (out: string) => `${out}.being-replaced`;

/** Moves the built folder into place. */
export async function swap(out: string, built: string): Promise<void> {
	const there = await readdir(out).catch(() => null);
	if (there?.length === 0) await rmdir(out);
	if (!there?.length) {
		await rename(built, out);
		return syncFolder(dirname(out));
	}
	const old = replacedOf(out);
	await rename(out, old);
	try {
		await rename(built, out);
	} catch (fault) {
		await rename(old, out);
		throw fault;
	}
	await syncFolder(dirname(out));
	await clearOld(out, old);
}

/** Completes a replacement that a killed run began. */
export async function mendSwap(out: string): Promise<void> {
	const old = replacedOf(out);
	if (!(await stat(old).catch(() => null))) return;
	if (await stat(out).catch(() => null)) await clearOld(out, old);
	else await rename(old, out);
}

/** Deletes this program's files from the old folder and moves all others to the new one. */
async function clearOld(out: string, old: string): Promise<void> {
	const unlisted = new Set(await unlistedFiles(old));
	for (const name of unlisted) {
		if (await lstat(join(out, name)).catch(() => null)) continue;
		await mkdir(dirname(join(out, name)), { recursive: true });
		await rename(join(old, name), join(out, name));
	}
	const list = await readManifest(old);
	const ours = list?.files.map((w) => w.file) ?? [];
	// Delete the list last, since it identifies what remains.
	for (const name of [...ours, list?.name ?? MANIFEST])
		if (!unlisted.has(name)) await rm(join(old, name), { force: true });
	for (const folder of [...foldersOf(ours), '']) await rmdir(join(old, folder)).catch(() => undefined);
}

/** Deletes what killed runs left while creating their hidden folder. */
export async function sweep(out: string): Promise<void> {
	const name = basename(buildingOf(out));
	for (const entry of await readdir(dirname(out))) {
		const pid = entry.startsWith(`${name}-`) ? /^(\d+)(-left)?$/.exec(entry.slice(name.length + 1))?.[1] : undefined;
		if (pid !== undefined && !isAlive(Number(pid)))
			await rm(join(dirname(out), entry), { recursive: true, force: true });
	}
}
