import { createHash } from 'node:crypto';
import { mkdir, readdir, stat } from 'node:fs/promises';
import { join, relative, resolve, sep } from 'node:path';
import { CallFault, faultText, InputFault, runField, type UnitSystem, wholeFile } from '../index.ts';
import { folderFromDisk } from './folder-from-disk.ts';
import { outputs } from './outputs.ts';
import { unwritable } from './place/disk.ts';
import { mustSpare, realPlace } from './place/guard.ts';
import { Place } from './place/place.ts';
import { mustBeTables, writeTables } from './season-tables.ts';
import { plain, terminalProgress } from './terminal.ts';
import { filesAhead } from './threads/files-ahead.ts';
import type { Threads } from './threads/threads.ts';

export interface SeasonOptions {
	out: string;
	shard?: string;
	strict?: boolean;
	units: UnitSystem;
	/** True: files and tables include US units as well. */
	bushels?: boolean;
	/** Other threads; with them as without, the files have the same bytes. */
	threads?: Threads;
}

/** `season ROOT --out DIR [--shard I/N]`: every field folder under ROOT. */
export async function season(root: string, options: SeasonOptions): Promise<{ text: string; faults: number }> {
	const shard = parseShard(options.shard);
	const from = resolve(root);
	const out = await realPlace(options.out);
	const about = await stat(from).catch(() => null);
	if (!about?.isDirectory()) {
		throw new InputFault([wholeFile(root, '', 'no such folder')]);
	}
	await mustSpare(options.out, out, [from]);
	await mkdir(out, { recursive: true }).catch((fault) => {
		throw unwritable(options.out, fault);
	});
	const { dev, ino } = await stat(out, { bigint: true });
	const fields = (await fieldFolders(from, from, { dev, ino })).filter((path) => inShard(path, shard));
	await mustBeTables(options.out, out);
	const lines: string[] = [];
	let faults = 0;
	for (const path of fields) {
		const progress = terminalProgress();
		try {
			const input = join(from, path);
			// Keep files in a field's results folder that are not ours (nested fields, a note).
			const place = await Place.take(join(out, path), { inputs: [input], keepStrangers: true });
			const { strict = false, units, bushels = false, threads } = options;
			const ahead = filesAhead(threads, place.built, { units, bushels });
			try {
				const folder = await folderFromDisk(input);
				const run = await runField(folder, { strict, known: (records) => ahead?.begin(records) }, progress, threads);
				await place.publish(outputs(run, folder, units, bushels), ahead);
			} finally {
				await ahead?.end();
				progress.done();
				await place.release();
			}
			lines.push(`${plain(path)}: done`);
		} catch (fault) {
			progress.done();
			faults++;
			if (!(fault instanceof InputFault)) {
				// An error in one field does not stop the season; it is reported.
				lines.push(`${plain(path)}: not corrected, ${plain(fault instanceof Error ? fault.message : String(fault))}`);
				continue;
			}
			lines.push(`${plain(path)}: has errors`, ...fault.faults.map((f) => `  ${plain(faultText(f))}`));
		}
	}
	const foreign = await writeTables(out, options.bushels ?? false).catch((fault) => {
		throw unwritable(options.out, fault);
	});
	for (const path of foreign) {
		lines.push(`Caution: ${plain(path)} is not a result that Steelyard wrote; it is not in the season's tables.`);
	}
	lines.push(`${fields.length - faults} of ${fields.length} field folders corrected.`);
	return { text: lines.join('\n'), faults };
}

function parseShard(text: string | undefined): { part: number; of: number } | null {
	if (text === undefined) return null;
	const match = /^(\d{1,9})\/(\d{1,9})$/.exec(text);
	const part = Number(match?.[1]);
	const of = Number(match?.[2]);
	if (!match || of < 1 || part < 1 || part > of) {
		throw new CallFault(`--shard ${text} is not I/N with I from 1 to N, as in 2/8`);
	}
	return { part, of };
}

/** Part I takes the folders whose relative path's SHA-256, read as one big-endian number, mod N is I − 1. */
function inShard(path: string, shard: { part: number; of: number } | null): boolean {
	if (!shard) return true;
	const digest = createHash('sha256').update(path, 'utf8').digest('hex');
	return BigInt(`0x${digest}`) % BigInt(shard.of) === BigInt(shard.part - 1);
}

async function fieldFolders(root: string, at: string, skip: { dev: bigint; ino: bigint }): Promise<string[]> {
	const found: string[] = [];
	const entries = await readdir(at, { withFileTypes: true });
	if (entries.some((e) => e.isFile() && e.name === 'field.json')) {
		const path = relative(root, at).split(sep).join('/');
		found.push(path === '' ? '.' : path);
	}
	for (const entry of entries.sort((a, b) => (a.name < b.name ? -1 : 1))) {
		const path = join(at, entry.name);
		if (!entry.isDirectory() || entry.name.startsWith('.') || entry.name === 'node_modules') continue;
		const about = await stat(path, { bigint: true });
		// The output folder may be under the root.
		if (about.dev === skip.dev && about.ino === skip.ino) continue;
		found.push(...(await fieldFolders(root, path, skip)));
	}
	return found;
}
