/** The two tables of a season, written anew from the results in its folder. */
import { readdir, readFile, rename, rm, stat } from 'node:fs/promises';
import { join, relative, sep } from 'node:path';
import { acFromHa, CallFault, csvRow, lbFromKg, type Result } from '../index.ts';
import { writeWhole } from './place/disk.ts';
import { isAlive } from './place/owner.ts';

const FIELDS =
	'field,name,season,client,farm,crop,area_ha,monitor_kg,corrected_kg,cart_kg,ticket_kg,dry_kg,dry_bu,dumps,set_aside';

const COMBINES =
	'field,combine,records,flagged,fills,lag_s,factor,factor_low,factor_high,form,source,n,moisture_offset_pct,monitor_kg,corrected_kg';

/** With `--units us`, after the others. */
const FIELDS_US = ',area_ac,corrected_lb,cart_lb,ticket_lb,dry_lb,yield_bu_ac';

const COMBINES_US = ',monitor_lb,corrected_lb';

const TABLES = ['season-fields.csv', 'season-combines.csv'];

/** Refuses to overwrite tables of these names that this program did not write. */
export async function mustBeTables(shown: string, out: string): Promise<void> {
	for (const name of TABLES) {
		const text = await readFile(join(out, name), 'utf8').catch(() => null);
		if (text === null || /^field,(name|combine),/.test(text)) continue;
		throw new CallFault(
			`--out ${shown} holds a ${name} that Steelyard did not write; move it away, or name another folder`,
		);
	}
	// Partial tables of killed runs.
	for (const entry of await readdir(out)) {
		const pid = /^\.season-(?:fields|combines)\.csv\.building-(\d+)$/.exec(entry)?.[1];
		if (pid !== undefined && !isAlive(Number(pid))) await rm(join(out, entry), { force: true });
	}
}

/** Rewrites the season's tables from the results in the folder; returns paths of files that are not results. */
export async function writeTables(out: string, us: boolean): Promise<string[]> {
	// Another shard may publish a field between reading and writing, so repeat until nothing changes.
	let foreign: string[] = [];
	for (let seen: string | null = null; ; ) {
		const results = await resultFiles(out, out);
		const state = results.map((r) => `${r.path} ${r.stamp}`).join('\n');
		if (state === seen) return foreign;
		seen = state;
		foreign = [];
		const fields = [FIELDS + (us ? FIELDS_US : '')];
		const combines = [COMBINES + (us ? COMBINES_US : '')];
		for (const r of results) {
			const rows = r.result && rowsOf(r.path, r.result, us);
			if (rows === null) foreign.push(r.path);
			else {
				fields.push(rows.field);
				combines.push(...rows.combines);
			}
		}
		await writeTable(out, 'season-fields.csv', fields);
		await writeTable(out, 'season-combines.csv', combines);
	}
}

/** A field's rows in both tables; null for a result not written by this program. */
function rowsOf(path: string, result: Result, us: boolean): { field: string; combines: string[] } | null {
	const lb = (kg: number | null | undefined) => (kg == null ? null : lbFromKg(kg));
	try {
		const t = result.totals;
		const about = result.field;
		const field = [
			...[path, about.name, about.season, about.client, about.farm, about.crop, t.area_ha, t.monitor_kg],
			...[t.corrected_kg, t.cart_kg, t.ticket_kg, t.dry_kg, t.dry_bu, result.dumps.length, result.set_aside.length],
		];
		if (us) {
			const ac = acFromHa(t.area_ha);
			field.push(
				ac,
				lb(t.corrected_kg),
				lb(t.cart_kg),
				lb(t.ticket_kg),
				lb(t.dry_kg),
				ac > 0 && t.dry_bu != null ? t.dry_bu / ac : null,
			);
		}
		const combines = Object.entries(result.combines).map(([name, c]) => {
			const f = c.factor;
			return csvRow([
				...[path, name, c.records, c.flagged, c.fills, c.lag_s, f?.value, f?.interval[0], f?.interval[1], f?.form],
				...[f?.source, f?.n, c.moisture.offset_pct, c.monitor_kg, c.corrected_kg],
				...(us ? [lb(c.monitor_kg), lb(c.corrected_kg)] : []),
			]);
		});
		return { field: csvRow(field), combines };
	} catch {
		return null;
	}
}

async function resultFiles(
	root: string,
	at: string,
): Promise<{ path: string; stamp: number; result: Result | null }[]> {
	const found: { path: string; stamp: number; result: Result | null }[] = [];
	const entries = await readdir(at, { withFileTypes: true }).catch(() => []);
	for (const entry of entries.sort((a, b) => (a.name < b.name ? -1 : 1))) {
		const path = join(at, entry.name);
		if (entry.isDirectory()) {
			if (!/^\.|\.being-replaced$/.test(entry.name)) found.push(...(await resultFiles(root, path)));
		} else if (entry.name === 'result.json' && entry.isFile()) {
			const stamp = await stat(path).catch(() => null);
			const result = stamp && (await readResult(path, stamp.size));
			if (result === undefined || stamp === null) continue;
			const name = relative(root, at).split(sep).join('/');
			found.push({ path: name === '' ? '.' : name, stamp: stamp.mtimeMs, result });
		}
	}
	return found;
}

/** Largest result read, bytes; those of the largest fields have some megabytes. */
const LARGEST = 256 * 1024 * 1024;

/** A result; null for a file of that name that is not a result, undefined where it no longer exists. */
async function readResult(path: string, bytes: number): Promise<Result | null | undefined> {
	if (bytes > LARGEST) return null;
	const text = await readFile(path, 'utf8').catch(() => undefined);
	if (text === undefined) return undefined;
	try {
		const result = JSON.parse(text) as Result | null;
		return result?.schema === 'steelyard.result/1' ? result : null;
	} catch {
		return null;
	}
}

async function writeTable(out: string, name: string, lines: string[]): Promise<void> {
	const bytes = new TextEncoder().encode(`${lines.join('\n')}\n`);
	const building = join(out, `.${name}.building-${process.pid}`);
	await writeWhole(building, { name, chunks: () => [bytes] });
	await rename(building, join(out, name));
}
