/** Which folders may be written to. */
import { lstat, readdir, realpath, stat } from 'node:fs/promises';
import { basename, dirname, join, resolve } from 'node:path';
import { CallFault } from '../../index.ts';
import { strangersIn } from './manifest.ts';

export interface PlaceOptions {
	/** Folders of what the user gave, which must survive. */
	inputs: readonly string[];
	/** May results that stand there be replaced? */
	replace?: boolean;
	/** What this program did not write stays in the folder (a season's nested fields, a note of the user's). */
	keepStrangers?: boolean;
	/** Leave a list of the files in the folder, by which a later run knows what it may replace. */
	listed?: boolean;
}

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

export async function mustBeOurs(dir: string, out: string, options: PlaceOptions): Promise<void> {
	const there = await readdir(out).catch(() => []);
	if (there.length === 0 || options.keepStrangers) return;
	if (!options.replace) throw new CallFault(`--out ${dir} holds files already; name an empty folder, or say --replace`);
	refuseFor(dir, await strangersIn(out));
}

/** What stays in the folder must not bear a name that is written. */
export async function mustNotCover(dir: string, out: string, names: readonly string[]): Promise<void> {
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
