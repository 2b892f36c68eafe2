/**
 * From the files people have to field folders: tables as they were in their files, with a reason for every guess and a
 * question for what no file answers.
 */
import type { RawBoundary, RawSet } from '../formats/index.ts';
import type { Folder, Output, Source } from '../model/index.ts';
import { givenFor, useGiven } from './answers.ts';
import { fieldByTrack } from './fields/cart-track.ts';
import { gatherFields, logsOf } from './fields/fields.ts';
import { assignLoads, type FieldLoads } from './fields/loads.ts';
import { machineRows, nameFields, nameMachines } from './fields/names.ts';
import { cropFor, cropQuestion } from './folder/describe.ts';
import { type BuiltField, buildFolder } from './folder/folder.ts';
import { free, slug } from './folder/text.ts';
import type { LoadTable } from './loads/model.ts';
import type { Given, IntakeOptions, LeftOut } from './model.ts';
import { type IntakeReport, intakeJson, sourcesOf } from './report.ts';
import { isLog, type ReadTable, readTables } from './tables/tables.ts';

export { answersFault } from './answers.ts';
export type { Track } from './folder/describe.ts';
export type { BuiltField } from './folder/folder.ts';
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
export type { FieldReport, IntakeReport, SourceReport } from './report.ts';
export { intakeJson } from './report.ts';
export { isZone } from './time/zone.ts';
export { unitNames } from './units/units.ts';

/** Results of an intake: the report, and the folders as files to be written. */
export interface Intake {
	report: IntakeReport;
	fields: BuiltField[];
	/** Every file of the root, intake.json last. */
	outputs: Output[];
	/** The tables behind the sources, for samples on a page. */
	tables: ReadTable[];
}

/** Processes a drop. Pure: the same tables and answers give the same bytes. */
export function understand(raw: RawSet, options: IntakeOptions = {}): Intake {
	const answers = options.answers ?? {};
	const read = readTables(raw, options);
	const logs = read.filter(isLog);
	const rows = logs.map((r) => r.log.log);
	const loads = read.flatMap((r) => r.loads ?? []);
	const { outlines, varieties, idle } = sortBoundaries(raw.boundaries, answers);
	const machines = machineRows(rows);
	const named = nameMachines(machines, rows, namesInCart(loads), (k) => logs[k]!.given);
	const gathered = gatherFields(machines, rows, outlines);
	nameFields(gathered.fields, rows);
	const timeless = gathered.fields.map((f) => f.parts.every((p) => rows[p.log]!.timeless));
	const byTrack = fieldByTrack(
		read.flatMap((r) => r.track ?? []),
		gathered.fields,
		rows,
	);
	const assigned = assignLoads(loads, gathered.fields, timeless, byTrack);
	const taken = new Set<string>();
	const fields = gathered.fields.map((field, k) => {
		const folder = free(slug(field.name, 'field'), taken);
		const own = logsOf(field).map((i) => logs[i]!);
		const alone = gathered.fields.length === 1;
		const given: Given = Object.assign({}, ...own.map((r) => r.given), givenFor(answers, folder, null));
		const crop = cropFor(own, given, options);
		return buildFolder({
			folder,
			field: alone && typeof given.field === 'string' ? { ...field, name: given.field } : field,
			names: named.names,
			read: logs,
			loads: assigned.loads[k]!,
			varieties: alone ? varieties : [],
			crop,
			questions: [
				...(crop === null ? [cropQuestion(own, field.name)] : []),
				...own.flatMap((r) => r.log.questions),
				...tablesOf(assigned.loads[k]!).flatMap((l) => l.questions),
			],
			notes: named.notes,
			timeless: timeless[k]!,
			timeZone: options.timeZone ?? own[0]?.log.log.zone ?? null,
		});
	});
	const report: IntakeReport = {
		schema: 'steelyard.intake/1',
		sources: sourcesOf({
			raw,
			read,
			used: gathered.fields.flatMap((f) => f.boundary ?? []),
			idle: gathered.idle,
			unwanted: idle,
			varieties,
			fields: gathered.fields.length,
		}),
		fields: fields.map((f) => f.report),
		set_aside: [
			...logs.flatMap((r) => r.log.leftOut),
			...loads.flatMap((l) => l.leftOut),
			...gathered.travel.map((t) => travelLeftOut(rows[machines[t.machine]!.log]!.table.file, t.rows)),
			...assigned.leftOut,
		],
	};
	const outputs: Output[] = fields.flatMap((f) =>
		f.files.map((file) => ({ ...file, name: `${f.report.folder}/${file.name}` })),
	);
	outputs.push(intakeJson(report));
	return { report, fields, outputs, tables: read };
}

const travelLeftOut = (file: string, rows: number): LeftOut => ({
	file,
	row: null,
	column: null,
	found: `${rows} rows`,
	why: 'recorded between fields or without a place near one, with no grain',
});

/** Names of combines in lists of loads; a load of two names both. */
function namesInCart(loads: readonly LoadTable[]): string[] {
	const noted = loads.flatMap((l) => l.rows.flatMap((r) => (r.text.combine ?? '').split('+')));
	return [...new Set(noted.map((name) => name.trim()))].filter((name) => name !== '');
}

/** The lists that a field's loads are from. */
const tablesOf = ({ cart, tickets }: FieldLoads): LoadTable[] => [...new Set([...cart, ...tickets].map((p) => p.from))];

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

/** Outlines of fields and of varieties: polygons whose properties name one, or by the user's answer. */
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
