import type { RawBoundary, RawFile, RawSet } from '../formats/index.ts';
import type { Output } from '../model/index.ts';
import { formatNumber } from '../units/index.ts';
import type { ColumnReading, LeftOut, Question, Use } from './model.ts';
import type { ReadTable } from './tables/tables.ts';

/** intake.json. */
export interface IntakeReport {
	schema: 'steelyard.intake/1';
	sources: SourceReport[];
	fields: FieldReport[];
	set_aside: LeftOut[];
	/** Files written to disk: paths from the root. */
	files?: { file: string; bytes: number; sha256: string }[];
}

/** A source in intake.json: what it was read as, column by column. */
export interface SourceReport {
	file: string;
	bytes: number;
	sha256: string;
	kind: string | null;
	use: Use;
	why: string;
	/** Key under which answers about files of this layout are kept. */
	signature: string | null;
	columns: ColumnReading[];
	notes: string[];
	questions: Question[];
}

/** A field in intake.json. */
export interface FieldReport {
	folder: string;
	name: string;
	crop: string | null;
	crop_because: string | null;
	boundary: boolean;
	because: string;
	combines: {
		name: string;
		records: number;
		start: string | null;
		end: string | null;
		monitor_kg: number;
		area_ha: number;
		sources: string[];
	}[];
	dumps: number;
	tickets: number;
	notes: string[];
	questions: Question[];
}

/** A file that gave nothing, or that gave several tables: its own entry. */
export function sourceOf(file: RawFile, use: Use, why: string): SourceReport {
	const { file: name, bytes, sha256, kind } = file;
	return { file: name, bytes, sha256, kind, use, why, signature: null, columns: [], notes: [], questions: [] };
}

/** intake.json as a file. */
export function intakeJson(report: IntakeReport): Output {
	const rounded = (key: string, value: unknown) =>
		key === 'sure' && typeof value === 'number' ? Math.round(value * 100) / 100 : value;
	const bytes = new TextEncoder().encode(`${JSON.stringify(report, rounded, '\t')}\n`);
	return { name: 'intake.json', chunks: () => [bytes] };
}

const TRACK = 'track of the cart: it shows in which field a load was taken if the load’s row names none';
const TRACK_ALONE =
	'track of the cart, not used because there is only one field. Its clock and that of the cart’s list differ by an unknown time, so it does not show which combine a load came from; a list that names the combine of each load would, or a log of the unloading auger';

const LOADS = { cart: 'weights of a cart', tickets: 'tickets of a scale', trace: 'a scale’s weight against time' };

export interface Drop {
	raw: RawSet;
	read: readonly ReadTable[];
	/** Outlines of fields with grain in them. */
	used: readonly RawBoundary[];
	/** Outlines without grain in them. */
	idle: readonly RawBoundary[];
	/** Outlines that the user left out. */
	unwanted: readonly RawBoundary[];
	varieties: readonly RawBoundary[];
	/** Number of fields in the drop. */
	fields: number;
}

/** One entry per file and table: what it was read as. */
export function sourcesOf({ raw, read, used, idle, unwanted, varieties, fields }: Drop): SourceReport[] {
	const out: SourceReport[] = [];
	const listed = new Set<string>();
	const fileOf = (name: string): RawFile =>
		raw.files.find((f) => f.file === name) ??
		raw.files
			.filter((f) => name.startsWith(`${f.file}/`) || name.startsWith(f.file))
			.sort((a, b) => b.file.length - a.file.length)[0] ?? { file: name, bytes: 0, sha256: '', kind: null, why: null };
	for (const r of read) {
		const file = fileOf(r.table.file);
		listed.add(file.file);
		const base = { ...sourceOf(file, 'none', ''), file: r.table.file, kind: r.table.kind, signature: r.signature };
		if (r.log) {
			const { columns, notes, questions } = r.log;
			const why = `${formatNumber(r.table.n, 0)} rows with positions and grain`;
			out.push({ ...base, use: 'log', why, columns, notes, questions });
		} else if (r.loads) {
			const { use, rows, columns, notes, questions } = r.loads;
			out.push({ ...base, use, why: `${formatNumber(rows.length, 0)} rows: ${LOADS[use]}`, columns, notes, questions });
		} else if (r.track) {
			const why = fields > 1 ? TRACK : TRACK_ALONE;
			out.push({ ...base, use: fields > 1 ? 'trace' : 'none', why, notes: r.table.notes });
		} else out.push({ ...base, why: r.why ?? '', notes: r.table.notes });
	}
	const drawn = new Map<string, { use: 'boundary' | 'varieties'; names: string[]; idle: number }>();
	for (const [list, use] of [
		[used, 'boundary'],
		[idle, 'boundary'],
		[varieties, 'varieties'],
	] as const) {
		for (const b of list) {
			const entry = drawn.get(b.file) ?? { use, names: [], idle: 0 };
			if (list === idle) entry.idle++;
			else entry.names.push(b.name ?? '');
			drawn.set(b.file, entry);
		}
	}
	for (const [name, d] of drawn) {
		const file = fileOf(name);
		const none = d.names.length === 0;
		const why = none
			? `${d.idle} outlines, and no grain was cut in any of them`
			: `outlines: ${[...new Set(d.names)].filter((n) => n !== '').join(', ') || d.names.length}${d.idle > 0 ? `; ${d.idle} more without grain in them` : ''}`;
		const known = out.find((s) => s.file === name);
		if (known) known.why += `; ${why}`;
		else out.push({ ...sourceOf(file, none ? 'none' : d.use, why), file: name });
		listed.add(file.file);
	}
	for (const b of unwanted) {
		if (!out.some((s) => s.file === b.file))
			out.push({ ...sourceOf(fileOf(b.file), 'none', 'left out, as answered'), file: b.file });
		listed.add(fileOf(b.file).file);
	}
	for (const file of raw.files) {
		if (file.kind === 'zip' ? file.why === null : listed.has(file.file)) continue;
		if ([...listed].some((t) => t.startsWith(`${file.file}/`))) continue;
		const plan = /(^|\/)field\.json$/i.test(file.file);
		const why = plan
			? 'a field folder’s own description: that folder can be corrected as it is; here its files are read anew'
			: file.why;
		out.push(sourceOf(file, 'none', why ?? 'nothing in it is of use here'));
	}
	return out.sort((a, b) => (a.file < b.file ? -1 : a.file > b.file ? 1 : 0));
}
