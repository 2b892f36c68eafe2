import { createHash } from 'node:crypto';
import { rmdirSync, rmSync } from 'node:fs';
import { lstat, mkdir, open, readdir, realpath, rename, rm, rmdir, stat } from 'node:fs/promises';
import { basename, dirname, join, resolve } from 'node:path';
import { CallFault, type Output } from '../index.ts';
import { foldersOf, MANIFEST, manifestText, readManifest, strangersIn, type Written } from './manifest.ts';
import { isAlive, take } from './owner.ts';

export interface Claim {
	/** Folders of what the user gave, which must survive. */
	inputs: readonly string[];
	/** May results that stand there be replaced? */
	replace?: boolean;
	/** What this program did not write stays in the folder (a season's nested fields, a note of the user's). */
	keepStrangers?: boolean;
	/** Leave a list of the files in the folder, by which a later run knows what it may replace. */
	listed?: boolean;
}

/**
 * A folder that is this run's to write. Results are built in a hidden folder beside it, which also keeps other runs
 * out, and take its place whole. At every moment of a replacement the old result or the new one stands under the
 * folder's own name or under `NAME.being-replaced`; whatever a killed run leaves is put right by the next.
 */
export class Place {
	private swapping = false;
	private wantsToStop = false;
	private readonly stopped = () => {
		// Between the renames stopping would leave no folder at all: a moment later it is done.
		if (this.swapping) this.wantsToStop = true;
		else this.exit();
	};

	private constructor(
		private readonly shown: string,
		private readonly out: string,
		private readonly claim: Claim,
		/** Folders above `out` that were made for it. */
		private made: readonly string[],
	) {}

	private get building(): string {
		return buildingOf(this.out);
	}

	/** @throws CallFault where the folder cannot or must not be written. */
	static async take(dir: string, claim: Claim): Promise<Place> {
		const out = await realPlace(dir);
		await mustSpare(dir, out, claim.inputs);
		const made: string[] = [];
		let taken: boolean;
		try {
			for (let at = dirname(out); !(await stat(at).catch(() => null)); at = dirname(at)) made.push(at);
			await mkdir(dirname(out), { recursive: true });
			await sweep(out);
			taken = await take(buildingOf(out));
		} catch (fault) {
			throw unwritable(dir, fault);
		}
		if (!taken) throw new CallFault(`--out ${dir}: another run is writing there; wait for it, or name another folder`);
		const place = new Place(dir, out, claim, made);
		try {
			await mendSwap(out);
			await mustBeOurs(dir, out, claim);
			return place;
		} catch (fault) {
			await place.release();
			throw fault;
		}
	}

	/** Writes the files and puts them in their place. */
	async publish(outputs: Iterable<Output>): Promise<void> {
		const built = join(this.building, 'built');
		// Only from here on: while a run computes no handler would be called, and the signal must end it.
		for (const signal of SIGNALS) process.once(signal, this.stopped);
		try {
			await mkdir(built);
			const written: Written[] = [];
			const folders = new Set<string>();
			for (const output of outputs) {
				const path = join(built, output.name);
				if (dirname(path) !== built && !folders.has(dirname(path))) {
					await mkdir(dirname(path), { recursive: true });
					folders.add(dirname(path));
				}
				written.push(await writeWhole(path, output));
			}
			for (const folder of folders) await settle(folder);
			if (this.claim.listed !== false) {
				const bytes = new TextEncoder().encode(manifestText(written));
				await writeWhole(join(built, MANIFEST), { name: MANIFEST, chunks: () => [bytes] });
			}
			await settle(built);
			// Hours may have gone by since the folder was looked at.
			await mustBeOurs(this.shown, this.out, this.claim);
			if (this.claim.keepStrangers) await mustNotCover(this.shown, this.out, [...written.map((w) => w.file), MANIFEST]);
			this.swapping = true;
			await swap(this.out, built);
			this.made = [];
		} catch (fault) {
			throw unwritable(this.shown, fault);
		} finally {
			this.swapping = false;
			for (const signal of SIGNALS) process.off(signal, this.stopped);
			if (this.wantsToStop) this.exit();
		}
	}

	/** Gives the place free; call it whatever happened. */
	async release(): Promise<void> {
		await rm(this.building, { recursive: true, force: true });
		for (const path of this.made) await rmdir(path).catch(() => undefined);
	}

	private exit(): never {
		rmSync(this.building, { recursive: true, force: true });
		try {
			for (const path of this.made) rmdirSync(path);
		} catch {
			// Something else has come to stand there.
		}
		process.exit(130);
	}
}

const SIGNALS = ['SIGINT', 'SIGTERM', 'SIGHUP'] as const;

const buildingOf = (out: string) => join(dirname(out), `.${basename(out)}.building`);
const replacedOf = (out: string) => `${out}.being-replaced`;

/** Where a folder really lies: links followed as far as there is something, the rest as it is named. */
export async function realPlace(dir: string): Promise<string> {
	const path = resolve(dir);
	const about = await lstat(path).catch(() => null);
	if (about) {
		return realpath(path).catch(() => {
			throw new CallFault(`--out ${dir} is a link that leads nowhere; name a folder`);
		});
	}
	const above = dirname(path);
	return above === path ? path : join(await realPlace(above), basename(path));
}

/** Refuses a folder that is, or holds, what the user gave, by whatever name or link it is reached. */
export async function mustSpare(dir: string, out: string, inputs: readonly string[]): Promise<void> {
	const about = await stat(out, { bigint: true }).catch(() => null);
	if (!about) return;
	if (!about.isDirectory()) throw new CallFault(`--out ${dir} is a file; name a folder`);
	for (const input of inputs) {
		const real = await realpath(input).catch(() => resolve(input));
		for (let at = real; ; at = dirname(at)) {
			// Names differ by case or by a link where the folder is the same; its number on its disk does not.
			const above = await stat(at, { bigint: true }).catch(() => null);
			if (above && above.dev === about.dev && above.ino === about.ino) {
				throw new CallFault(`--out ${dir} holds the input itself (${input}); name another folder`);
			}
			if (at === dirname(at)) break;
		}
	}
}

async function mustBeOurs(dir: string, out: string, claim: Claim): Promise<void> {
	const there = await readdir(out).catch(() => []);
	if (there.length === 0 || claim.keepStrangers) return;
	if (!claim.replace) throw new CallFault(`--out ${dir} holds files already; name an empty folder, or say --replace`);
	refuseFor(dir, await strangersIn(out));
}

/** What stays in the folder must not bear a name that is written. */
async function mustNotCover(dir: string, out: string, names: readonly string[]): Promise<void> {
	if (!(await stat(out).catch(() => null))) return;
	refuseFor(
		dir,
		(await strangersIn(out)).filter((name) => names.some((n) => n.toLowerCase() === name.toLowerCase())),
	);
}

function refuseFor(dir: string, strangers: readonly string[]): void {
	if (strangers.length === 0) return;
	const some = strangers.slice(0, 3).join(', ') + (strangers.length > 3 ? ` and ${strangers.length - 3} more` : '');
	throw new CallFault(
		`--out ${dir} holds what Steelyard did not write, or what has changed since: ${some}. It is left as it is; move that away, or name another folder`,
	);
}

/** Puts what was built in its place. */
async function swap(out: string, built: string): Promise<void> {
	const there = await readdir(out).catch(() => null);
	if (there?.length === 0) await rmdir(out);
	if (!there?.length) {
		await rename(built, out);
		return settle(dirname(out));
	}
	const old = replacedOf(out);
	await rename(out, old);
	try {
		await rename(built, out);
	} catch (fault) {
		await rename(old, out);
		throw fault;
	}
	await settle(dirname(out));
	await clearOld(out, old);
}

/** Brings a replacement to its end that a killed run has begun. */
async function mendSwap(out: string): Promise<void> {
	const old = replacedOf(out);
	if (!(await stat(old).catch(() => null))) return;
	if (await stat(out).catch(() => null)) await clearOld(out, old);
	else await rename(old, out);
}

/** Takes away of the old folder what this program wrote; all else moves into the new one. */
async function clearOld(out: string, old: string): Promise<void> {
	const strangers = new Set(await strangersIn(old));
	for (const name of strangers) {
		if (await lstat(join(out, name)).catch(() => null)) continue;
		await mkdir(dirname(join(out, name)), { recursive: true });
		await rename(join(old, name), join(out, name));
	}
	const list = await readManifest(old);
	const ours = list?.files.map((w) => w.file) ?? [];
	// The list goes last: with it, what is left can be told at any moment.
	for (const name of [...ours, list?.name ?? MANIFEST])
		if (!strangers.has(name)) await rm(join(old, name), { force: true });
	for (const folder of [...foldersOf(ours), '']) await rmdir(join(old, folder)).catch(() => undefined);
}

/** Takes away what killed runs left in making their hidden folder. */
async function sweep(out: string): Promise<void> {
	const name = basename(buildingOf(out));
	for (const entry of await readdir(dirname(out))) {
		const pid = entry.startsWith(`${name}-`) ? /^(\d+)(-left)?$/.exec(entry.slice(name.length + 1))?.[1] : undefined;
		if (pid !== undefined && !isAlive(Number(pid)))
			await rm(join(dirname(out), entry), { recursive: true, force: true });
	}
}

const WHY: Record<string, string> = {
	ENOSPC: 'the disk is full',
	EDQUOT: 'the disk is full',
	EROFS: 'the disk can only be read',
	EACCES: 'you may not write there',
	EPERM: 'you may not write there',
	ENAMETOOLONG: 'the name is too long',
	ENOTDIR: 'a part of its path is a file',
};

/** A fault of the disk in words; any other as it is. */
export function unwritable(dir: string, fault: unknown): unknown {
	const { code, syscall } = fault as NodeJS.ErrnoException;
	if (fault instanceof CallFault || code === undefined || syscall === undefined) return fault;
	return new CallFault(`${dir} cannot be written: ${WHY[code] ?? code}. Nothing was written`);
}

/** One file, written in chunks and on the disk before the call ends. */
export async function writeWhole(path: string, output: Output): Promise<Written> {
	const hash = createHash('sha256');
	let bytes = 0;
	const file = await open(path, 'w');
	try {
		for await (const chunk of output.chunks()) {
			hash.update(chunk);
			bytes += chunk.length;
			await file.writeFile(chunk);
		}
		await file.sync();
	} finally {
		await file.close();
	}
	return { file: output.name, bytes, sha256: hash.digest('hex') };
}

/** Has a folder's own entries on the disk, where the system can be asked for it. */
async function settle(dir: string): Promise<void> {
	const handle = await open(dir, 'r').catch(() => null);
	await handle?.sync().catch(() => undefined);
	await handle?.close();
}
