import { createHash } from 'node:crypto';
import { mkdir, readdir, readFile, rename, stat } from 'node:fs/promises';
import { join, relative, resolve, sep } from 'node:path';
import { CallFault, faultText, InputFault, type Result, runField, type UnitSystem } from '../index.ts';
import { folderFromDisk, publish, writeWhole } from './files.ts';
import { outputs } from './outputs.ts';
import { plain, terminalProgress } from './terminal.ts';

export interface SeasonOptions {
	out: string;
	shard?: string;
	strict?: boolean;
	units: UnitSystem;
}

/** `season ROOT --out DIR [--shard I/N]`: every field folder under ROOT. */
export async function season(root: string, options: SeasonOptions): Promise<{ text: string; faults: number }> {
	const shard = parseShard(options.shard);
	const from = resolve(root);
	const out = resolve(options.out);
	const about = await stat(from).catch(() => null);
	if (!about?.isDirectory()) {
		throw new InputFault([{ file: root, row: null, column: null, found: '', why: 'no such folder' }]);
	}
	if (from === out || from.startsWith(out + sep)) {
		throw new CallFault(`--out ${options.out} holds the field folders themselves; name another folder`);
	}
	const fields = (await fieldFolders(from, from, out)).filter((path) => inShard(path, shard));
	await mkdir(out, { recursive: true });
	const lines: string[] = [];
	let faults = 0;
	for (const path of fields) {
		const progress = terminalProgress();
		try {
			const folder = await folderFromDisk(join(from, path));
			const run = await runField(folder, { strict: options.strict ?? false }, progress);
			progress.done();
			await publish(join(out, path), outputs(run, folder, options.units), true);
			lines.push(`${plain(path)}: done`);
		} catch (fault) {
			progress.done();
			faults++;
			if (!(fault instanceof InputFault)) {
				// One field's bad luck must not cost the season; what happened is told.
				lines.push(`${plain(path)}: not corrected, ${plain(fault instanceof Error ? fault.message : String(fault))}`);
				continue;
			}
			lines.push(`${plain(path)}: at fault`, ...fault.faults.map((f) => `  ${plain(faultText(f))}`));
		}
	}
	await writeTables(out);
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
export function inShard(path: string, shard: { part: number; of: number } | null): boolean {
	if (!shard) return true;
	const digest = createHash('sha256').update(path, 'utf8').digest('hex');
	return BigInt(`0x${digest}`) % BigInt(shard.of) === BigInt(shard.part - 1);
}

async function fieldFolders(root: string, at: string, skip: string): Promise<string[]> {
	const found: string[] = [];
	const entries = await readdir(at, { withFileTypes: true });
	if (entries.some((e) => e.isFile() && e.name === 'field.json')) {
		const path = relative(root, at).split(sep).join('/');
		found.push(path === '' ? '.' : path);
	}
	for (const entry of entries.sort((a, b) => (a.name < b.name ? -1 : 1))) {
		const path = join(at, entry.name);
		if (!entry.isDirectory() || entry.name.startsWith('.') || entry.name === 'node_modules' || path === skip) continue;
		found.push(...(await fieldFolders(root, path, skip)));
	}
	return found;
}

/** The season's tables, rewritten whole from the results that stand in the folder. */
async function writeTables(out: string): Promise<void> {
	// Another shard may publish a field between our reading and our writing: look again until nothing moved.
	for (let seen = ''; ; ) {
		const results = await resultFiles(out, out);
		const state = results.map((r) => `${r.path} ${r.stamp}`).join('\n');
		if (state === seen) return;
		seen = state;
		const fields = [
			'field,name,season,client,farm,crop,area_ha,monitor_kg,corrected_kg,cart_kg,ticket_kg,dry_kg,dry_bu,dumps,set_aside',
		];
		const combines = [
			'field,combine,records,flagged,fills,lag_s,factor,factor_low,factor_high,form,source,n,moisture_offset_pct,monitor_kg,corrected_kg',
		];
		for (const { path, result } of results) {
			const t = result.totals;
			const about = result.field;
			fields.push(
				[
					path,
					about.name,
					about.season,
					about.client,
					about.farm,
					about.crop,
					t.area_ha,
					t.monitor_kg,
					t.corrected_kg,
					t.cart_kg,
					t.ticket_kg,
					t.dry_kg,
					t.dry_bu,
					result.dumps.length,
					result.set_aside.length,
				]
					.map(cell)
					.join(','),
			);
			for (const [name, c] of Object.entries(result.combines)) {
				const f = c.factor;
				combines.push(
					[
						path,
						name,
						c.records,
						c.flagged,
						c.fills,
						c.lag_s,
						f?.value,
						f?.interval[0],
						f?.interval[1],
						f?.form,
						f?.source,
						f?.n,
						c.moisture.offset_pct,
						c.monitor_kg,
						c.corrected_kg,
					]
						.map(cell)
						.join(','),
				);
			}
		}
		await writeTable(out, 'season-fields.csv', fields);
		await writeTable(out, 'season-combines.csv', combines);
	}
}

async function resultFiles(root: string, at: string): Promise<{ path: string; stamp: number; result: Result }[]> {
	const found: { path: string; stamp: number; result: Result }[] = [];
	for (const entry of (await readdir(at, { withFileTypes: true })).sort((a, b) => (a.name < b.name ? -1 : 1))) {
		const path = join(at, entry.name);
		if (entry.isDirectory() && !entry.name.startsWith('.')) found.push(...(await resultFiles(root, path)));
		else if (entry.name === 'result.json') {
			const text = await readFile(path, 'utf8').catch(() => null);
			if (text === null) continue;
			const name = relative(root, at).split(sep).join('/');
			found.push({
				path: name === '' ? '.' : name,
				stamp: (await stat(path)).mtimeMs,
				result: JSON.parse(text) as Result,
			});
		}
	}
	return found;
}

/** A cell of CSV; text that a spreadsheet would run as a formula gets a leading apostrophe. */
function cell(value: unknown): string {
	if (value === null || value === undefined) return '';
	if (typeof value === 'number') return String(value);
	const text = String(value);
	const safe = /^[=+\-@\t\r]/.test(text) ? `'${text}` : text;
	return /[",\r\n]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe;
}

async function writeTable(out: string, name: string, lines: string[]): Promise<void> {
	const bytes = new TextEncoder().encode(`${lines.join('\n')}\n`);
	const building = join(out, `.${name}.building-${process.pid}`);
	await writeWhole(building, { name, chunks: () => [bytes] });
	await rename(building, join(out, name));
}
