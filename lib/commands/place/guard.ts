/** Which folders may be written to. */
import { lstat, readdir, realpath, stat } from 'node:fs/promises';
import { basename, dirname, join, resolve } from 'node:path';
import { CallFault, someOf } from '../../index.ts';
import { unlistedFiles } from './manifest.ts';

export interface PlaceOptions {
	/** The user's input folders, which must not be overwritten. */
	inputs: readonly string[];
	/** True where existing results may be replaced. */
	replace?: boolean;
	/** Keep files that this program did not write (a season's nested fields, a user's note). */
	keepStrangers?: boolean;
	/** Write a list of the files to the folder, which shows a later run what it may replace. */
	listed?: boolean;
}

/** The real path of a folder: links are followed as far as the path exists. */
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

/** Refuses an output folder that is, or contains, the user's input, by any name or link. */
export async function mustSpare(dir: string, out: string, inputs: readonly string[]): Promise<void> {
	const about = await stat(out, { bigint: true }).catch(() => null);
	if (!about) return;
	if (!about.isDirectory()) throw new CallFault(`--out ${dir} is a file; name a folder`);
	for (const input of inputs) {
		const real = await realpath(input).catch(() => resolve(input));
		for (let at = real; ; at = dirname(at)) {
			// Compare device and inode, since the same folder can have names that differ by case or link.
			const above = await stat(at, { bigint: true }).catch(() => null);
			if (above && above.dev === about.dev && above.ino === about.ino) {
				throw new CallFault(`--out ${dir} holds the input itself (${input}); name another folder`);
			}
			if (at === dirname(at)) break;
		}
	}
}

export async function mustBeOurs(dir: string, out: string, options: PlaceOptions): Promise<void> {
	const there = await readdir(out).catch(() => []);
	if (there.length === 0 || options.keepStrangers) return;
	if (!options.replace) throw new CallFault(`--out ${dir} holds files already; name an empty folder, or say --replace`);
	refuseFor(dir, await unlistedFiles(out));
}

/** Refuses where a file that is kept has the name of a file to be written. */
export async function mustNotCover(dir: string, out: string, names: readonly string[]): Promise<void> {
	if (!(await stat(out).catch(() => null))) return;
	refuseFor(
		dir,
		(await unlistedFiles(out)).filter((name) => names.some((n) => n.toLowerCase() === name.toLowerCase())),
	);
}

function refuseFor(dir: string, unlisted: readonly string[]): void {
	if (unlisted.length === 0) return;
	throw new CallFault(
		`--out ${dir} holds what Steelyard did not write, or what has changed since: ${someOf(unlisted, 3)}. It is left as it is; move that away, or name another folder`,
	);
}
