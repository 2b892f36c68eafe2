/**
 * What people really have, understood: tables as they stood in their files become field folders, with a reason for
 * every guess and a question for what no file can say.
 */
import type { RawBoundary, RawFile, RawSet } from '../formats/index.ts';
import type { Crop, Folder, Output, Source } from '../model/index.ts';
import { CROPS } from '../units/index.ts';
import { givenFor, useGiven } from './answers.ts';
import { assignLoads } from './fields/assign.ts';
import { type BuiltField, buildFolder } from './fields/folder.ts';
import { gatherFields } from './fields/gather.ts';
import { machineRows, nameMachines } from './fields/names.ts';
import { free, slug } from './fields/text.ts';
import type { Given, IntakeOptions, LeftOut, LogRows, Question } from './model.ts';
import { cropGiven, cropInName } from './names/crops.ts';
import { type ReadTable, readTables } from './read-tables.ts';
import { type IntakeReport, intakeJson, questionReport, type SourceReport, sourceOf } from './report.ts';

export { answersFault } from './answers.ts';
export type { BuiltField } from './fields/folder.ts';
export type { Track } from './fields/track.ts';
export {
	type ColumnReading,
	type Given,
	type IntakeOptions,
	type LeftOut,
	type Question,
	USES,
	type Use,
} from './model.ts';
export { cropGiven } from './names/crops.ts';
export type { FieldReport, IntakeReport, QuestionReport, SourceReport } from './report.ts';
export { intakeJson } from './report.ts';
export { isZone } from './time/instant.ts';
export { unitNames } from './units.ts';

/** Everything that an intake gives: the report, and the folders as files to be written. */
export interface Intake {
	report: IntakeReport;
	fields: BuiltField[];
	/** Every file of the root, intake.json last. */
	outputs: Output[];
	/** The tables behind the sources, for samples on a page. */
	tables: ReadTable[];
}

/** Understands a drop. Pure: the same tables and answers give the same bytes. */
export function understand(raw: RawSet, options: IntakeOptions = {}): Intake {
	const answers = options.answers ?? {};
	const read = readTables(raw, options);
	const logs = read.filter((r) => r.log !== null);
	const rows = logs.map((r) => r.log?.log as LogRows);
	const loads = read.flatMap((r) => r.loads ?? []);
	const { outlines, varieties, idle } = sortBoundaries(raw.boundaries, answers);
	const machines = machineRows(rows);
	const cartNames = [
		...new Set(loads.flatMap((l) => l.rows.flatMap((r) => (r.text.combine ?? '').split('+')).map((s) => s.trim()))),
	].filter((s) => s !== '');
	const named = nameMachines(machines, rows, cartNames, (k) => (logs[k] as ReadTable).given);
	const gathered = gatherFields(machines, rows, outlines);
	const leftOut: LeftOut[] = [...logs.flatMap((r) => r.log?.leftOut ?? []), ...loads.flatMap((l) => l.leftOut)];
	for (const t of gathered.travel) {
		const log = rows[machines[t.machine]?.log ?? 0] as LogRows;
		leftOut.push({
			file: log.table.file,
			row: null,
			column: null,
			found: `${t.rows} rows`,
			why: 'recorded between fields or without a place near one, with no grain',
		});
	}
	const timeless = gathered.fields.map((f) => f.parts.every((p) => rows[machines[p.machine]?.log ?? 0]?.timeless));
	nameFields(gathered.fields, rows, machines);
	const assigned = assignLoads(loads, gathered.fields, timeless);
	leftOut.push(...assigned.leftOut);
	const taken = new Set<string>();
	const fields = gathered.fields.map((field, k) => {
		const folder = free(slug(field.name, 'field'), taken);
		const own = [...new Set(field.parts.map((p) => machines[p.machine]?.log ?? 0))].map((i) => logs[i] as ReadTable);
		const given = Object.assign({}, ...own.map((r) => r.given), givenFor(answers, folder, null)) as Record<
			string,
			unknown
		>;
		const crop = cropFor(own, given, options);
		const questions: Question[] = [
			...own.flatMap((r) => r.log?.questions ?? []),
			...loadsOf(assigned.loads[k]).flatMap((l) => l.questions),
		];
		if (crop === null) questions.unshift(cropQuestion(own, field.name));
		const name = typeof given.field === 'string' && gathered.fields.length === 1 ? given.field : field.name;
		return buildFolder({
			folder,
			field: { ...field, name },
			machines,
			names: named.names,
			logs: rows,
			read: logs,
			loads: assigned.loads[k] as (typeof assigned.loads)[number],
			varieties: varieties.filter(() => gathered.fields.length === 1),
			crop,
			questions,
			notes: named.notes,
			timeless: timeless[k] as boolean,
			timeZone: options.timeZone ?? own[0]?.log?.log.zone ?? null,
		});
	});
	const report: IntakeReport = {
		schema: 'steelyard.intake/1',
		sources: sourcesOf(
			raw,
			read,
			gathered.fields.flatMap((f) => f.boundary ?? []),
			gathered.idle,
			idle,
			varieties,
		),
		fields: fields.map((f) => f.report),
		set_aside: leftOut,
	};
	const outputs: Output[] = fields.flatMap((f) =>
		f.files.map((file) => ({ ...file, name: `${f.report.folder}/${file.name}` })),
	);
	outputs.push(intakeJson(report));
	return { report, fields, outputs, tables: read };
}

/** A field as a folder in memory, as the pipeline reads it. */
export function folderOf(field: BuiltField): Folder {
	return new Map(
		field.files.map((file): [string, Source] => [
			file.name,
			{
				name: file.name,
				async *chunks() {
					yield* file.chunks();
				},
			},
		]),
	);
}

const loadsOf = (
	l:
		| { cart: { from: NonNullable<ReadTable['loads']> }[]; tickets: { from: NonNullable<ReadTable['loads']> }[] }
		| undefined,
) => [...new Set([...(l?.cart ?? []), ...(l?.tickets ?? [])].map((p) => p.from))];

/** Outlines of fields, and of varieties: those whose properties name one, or what the user says they are. */
function sortBoundaries(boundaries: readonly RawBoundary[], answers: Record<string, Given>) {
	const names = (b: RawBoundary) =>
		Object.keys(b.properties).some(
			(k) => /variet|hybrid|cultivar|sorte/i.test(k) && b.properties[k] !== null && b.properties[k] !== '',
		);
	const use = (b: RawBoundary) => useGiven(givenFor(answers, b.file, null)) ?? (names(b) ? 'varieties' : 'boundary');
	return {
		outlines: boundaries.filter((b) => use(b) === 'boundary'),
		varieties: boundaries.filter((b) => use(b) === 'varieties'),
		/** Left out by the user. */
		idle: boundaries.filter((b) => use(b) !== 'boundary' && use(b) !== 'varieties'),
	};
}

/**
 * Names for fields that nothing names: the folder or zip that holds this field's files alone, or else its file, or
 * else a number.
 */
function nameFields(
	fields: { name: string; parts: { machine: number }[] }[],
	logs: readonly LogRows[],
	machines: readonly { log: number }[],
): void {
	const filesOf = fields.map((field) => [
		...new Set(field.parts.map((p) => (logs[machines[p.machine]?.log ?? 0] as LogRows).table.file)),
	]);
	fields.forEach((field, k) => {
		if (field.name !== '') return;
		const own = filesOf[k] as string[];
		const others = filesOf.flatMap((files, m) => (m === k ? [] : files));
		const parts = own.map((f) => f.split('/').slice(0, -1));
		const shared = (parts[0] ?? []).filter((p, i) => parts.every((q) => q[i] === p));
		const above = shared
			.filter(
				(p, i) => !/^taskdata$/i.test(p) && !others.some((f) => f.startsWith(`${shared.slice(0, i + 1).join('/')}/`)),
			)
			.at(-1);
		const base = own.length === 1 ? (own[0]?.split('/').at(-1) ?? '').replace(/\.[^.]*$/, '') : '';
		const alone = own.length === 1 && !others.includes(own[0] as string);
		const name = above?.replace(/\.(zip|kmz)$/i, '') ?? (alone ? base : '');
		field.name = name !== '' ? name : `${base || 'field'} ${k + 1}`;
	});
}

function cropFor(
	own: readonly ReadTable[],
	given: Record<string, unknown>,
	options: IntakeOptions,
): { crop: Crop; because: string } | null {
	const answered = cropGiven(given.crop);
	if (answered) return { crop: answered, because: 'as answered' };
	const called = options.crop === undefined ? null : cropGiven(options.crop);
	const said = own.map((r) => r.log?.log.crop).find((c) => c && c.crop.name !== called?.name);
	if (called) return { crop: called, because: said ? `as the call says, though ${said.because}` : 'as the call says' };
	for (const r of own) if (r.log?.log.crop) return r.log.log.crop;
	for (const r of own) {
		const crop = cropInName(r.table.file);
		if (crop) return { crop, because: `the file’s name, ${r.table.file}` };
	}
	return null;
}

function cropQuestion(own: readonly ReadTable[], name: string): Question {
	const bushel = own.find((r) => r.log?.bushel_kg)?.log?.bushel_kg ?? null;
	const like = bushel === null ? [] : CROPS.filter((c) => Math.abs(c.bushel_kg - bushel) < 0.05).map((c) => c.name);
	const rest = CROPS.map((c) => c.name).filter((c) => !like.includes(c));
	return {
		about: 'crop',
		text: `Which crop was cut on ${name || 'this field'}?${like.length > 0 ? ` Its yields hold bushels of ${Math.round((bushel as number) / 0.45359237)} lb, as of ${like.join(', ')}.` : ''}`,
		choices: [...like, ...rest],
		blocking: true,
		taken: null,
		file: own[0]?.table.file ?? null,
	};
}

/** One entry a file and table: what it was understood to be. */
function sourcesOf(
	raw: RawSet,
	read: readonly ReadTable[],
	used: readonly RawBoundary[],
	idle: readonly RawBoundary[],
	unwanted: readonly RawBoundary[],
	varieties: readonly RawBoundary[],
): SourceReport[] {
	const out: SourceReport[] = [];
	const told = new Set<string>();
	const fileOf = (name: string): RawFile =>
		raw.files.find((f) => f.file === name) ??
		raw.files
			.filter((f) => name.startsWith(`${f.file}/`) || name.startsWith(f.file))
			.sort((a, b) => b.file.length - a.file.length)[0] ?? { file: name, bytes: 0, sha256: '', kind: null, why: null };
	for (const r of read) {
		const file = fileOf(r.table.file);
		told.add(file.file);
		const base = { ...sourceOf(file, 'none', ''), file: r.table.file, kind: r.table.kind, signature: r.signature };
		if (r.log) {
			out.push({
				...base,
				use: 'log',
				why: `${r.table.n} rows with positions and grain`,
				columns: r.log.columns,
				notes: r.log.notes,
				questions: r.log.questions.map(questionReport),
			});
		} else if (r.loads) {
			const what = { cart: 'weights of a cart', tickets: 'tickets of a scale', trace: 'a scale’s weight against time' }[
				r.loads.use
			];
			out.push({
				...base,
				use: r.loads.use,
				why: `${r.loads.rows.length} rows: ${what}`,
				columns: r.loads.columns,
				notes: r.loads.notes,
				questions: r.loads.questions.map(questionReport),
			});
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
		told.add(file.file);
	}
	for (const b of unwanted) {
		if (!out.some((s) => s.file === b.file))
			out.push({ ...sourceOf(fileOf(b.file), 'none', 'left out, as answered'), file: b.file });
		told.add(fileOf(b.file).file);
	}
	for (const file of raw.files) {
		if (told.has(file.file) || file.kind === 'zip') {
			if (file.kind !== 'zip' || file.why === null) continue;
		}
		if ([...told].some((t) => t.startsWith(`${file.file}/`))) continue;
		const plan = /(^|\/)field\.json$/i.test(file.file);
		const why = plan
			? 'a field folder’s own description: that folder can be corrected as it is; here its files are read anew'
			: file.why;
		out.push(sourceOf(file, 'none', why ?? 'nothing in it is of use here'));
	}
	return out.sort((a, b) => (a.file < b.file ? -1 : a.file > b.file ? 1 : 0));
}
