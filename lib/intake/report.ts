import type { RawBoundary, RawFile, RawSet } from '../formats/index.ts';
import type { Output } from '../model/index.ts';
import { groupBy } from '../stats/group.ts';
import { formatNumber } from '../units/index.ts';
import type { IntakeReport, SourceReport, Use } from './model.ts';
import type { ReadTable } from './tables/tables.ts';

const TRACK = 'track of the cart: it shows in which field a load was taken if the load’s row names none';
const TRACK_ALONE =
	'track of the cart, not used because there is only one field. Its clock and that of the cart’s list differ by an unknown time, so it does not show which combine a load came from; a list that names the combine of each load would, or a log of the unloading auger';

const LOADS = { cart: 'weights of a cart', tickets: 'tickets of a scale', trace: 'a scale’s weight against time' };

/** What a drop was read as, altogether. */
export interface Drop {
	raw: RawSet;
	tables: readonly ReadTable[];
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

/** intake.json as a file. */
export function intakeJson(report: IntakeReport): Output {
	const rounded = (key: string, value: unknown) =>
		key === 'sure' && typeof value === 'number' ? Math.round(value * 100) / 100 : value;
	const bytes = new TextEncoder().encode(`${JSON.stringify(report, rounded, '\t')}\n`);
	return { name: 'intake.json', chunks: () => [bytes] };
}

/** One entry per file and table, in order of their names: what it was read as. */
export function sourcesOf(drop: Drop): SourceReport[] {
	const { files } = drop.raw;
	const out = drop.tables.map((r) => tableSource(r, fileOf(files, r.table.file), drop.fields > 1));
	for (const outlines of outlineSources(drop)) {
		const known = out.find((s) => s.file === outlines.file);
		if (known) {
			known.why += `; ${outlines.why}`;
			known.notes = [...new Set([...known.notes, ...outlines.notes])];
		} else out.push(outlines);
	}
	for (const { file } of drop.unwanted) {
		if (out.some((s) => s.file === file)) continue;
		out.push({ ...sourceOf(fileOf(files, file), 'none', 'left out, as answered'), file });
	}
	const listed = new Set(out.map((s) => fileOf(files, s.file).file));
	for (const file of files) {
		if (file.kind === 'zip' ? file.why === null : listed.has(file.file)) continue;
		if ([...listed].some((name) => name.startsWith(`${file.file}/`))) continue;
		const plan = /(^|\/)field\.json$/i.test(file.file);
		const why = plan
			? 'a field folder’s own description: that folder can be corrected as it is; here its files are read again'
			: file.why;
		out.push(sourceOf(file, 'none', why ?? 'nothing in it is of use here'));
	}
	return out.sort((a, b) => (a.file < b.file ? -1 : a.file > b.file ? 1 : 0));
}

/** The file that a table or an outline is in: a table's name is its file's, or begins with it. */
const fileOf = (files: readonly RawFile[], name: string): RawFile =>
	files.find((f) => f.file === name) ??
	files.filter((f) => name.startsWith(f.file)).sort((a, b) => b.file.length - a.file.length)[0] ?? {
		file: name,
		bytes: 0,
		sha256: '',
		kind: null,
		why: null,
	};

/** The entry of a file of which nothing more is to be said. */
function sourceOf(file: RawFile, use: Use, why: string): SourceReport {
	const { file: name, bytes, sha256, kind } = file;
	return { file: name, bytes, sha256, kind, use, why, signature: null, columns: [], notes: [], questions: [] };
}

function tableSource(
	{ table, signature, log, loads, track, why }: ReadTable,
	file: RawFile,
	several: boolean,
): SourceReport {
	const base = { ...sourceOf(file, 'none', why ?? ''), file: table.file, kind: table.kind, signature };
	const found = log ?? loads;
	if (found) {
		const { columns, notes, questions } = found;
		const rows = (n: number) => `${formatNumber(n, 0)} rows`;
		const read: { use: Use; why: string } = loads
			? { use: loads.use, why: `${rows(loads.rows.length)}: ${LOADS[loads.use]}` }
			: { use: 'log', why: `${rows(table.n)} with positions and grain` };
		return { ...base, ...read, columns, notes, questions };
	}
	const use: Use = track && several ? 'trace' : 'none';
	return { ...base, use, why: track ? (several ? TRACK : TRACK_ALONE) : base.why, notes: table.notes };
}

/** The entry of each file with outlines. */
function outlineSources({ raw, used, idle, varieties }: Drop): SourceReport[] {
	const all = [used, idle, varieties].flatMap((list) => list.map((outline) => ({ outline, list })));
	return [...groupBy(all, ({ outline }) => outline.file)].map(([file, own]) => {
		const notes = [...new Set(own.flatMap(({ outline }) => outline.notes))];
		const entry = (use: Use, why: string) => ({ ...sourceOf(fileOf(raw.files, file), use, why), file, notes });
		const held = own.filter(({ list }) => list !== idle);
		const left = own.length - held.length;
		if (held.length === 0) return entry('none', `${left} outlines, and no grain was cut in any of them`);
		const names = [...new Set(held.map(({ outline }) => outline.name ?? ''))].filter((n) => n !== '').join(', ');
		const more = left > 0 ? `; ${left} more without grain in them` : '';
		const use = own[0]?.list === varieties ? 'varieties' : 'boundary';
		return entry(use, `outlines: ${names || held.length}${more}`);
	});
}
