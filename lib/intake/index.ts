/**
 * From the files people have to field folders: tables as they were in their files, with a reason for every guess and a
 * question for what no file answers.
 */
import type { RawBoundary, RawSet } from '../formats/index.ts';
import type { Folder, Output, Source } from '../model/index.ts';
import { givenFor, useGiven } from './answers.ts';
import { assignLoads, fieldByTrack } from './fields/assign-loads.ts';
import { findFields, logsOf } from './fields/find-fields.ts';
import { varietyOf } from './folder/crop-and-track.ts';
import { free, slug } from './folder/csv-text.ts';
import { type BuiltField, buildFolder } from './folder/folder.ts';
import type { LoadTable } from './loads/load-table.ts';
import type { Given, IntakeOptions, IntakeReport } from './model.ts';
import { intakeJson, sourcesOf } from './report.ts';
import { isLog, type ReadTable, readTables } from './tables/tables.ts';

export { answersFault } from './answers.ts';
export type { Track } from './folder/crop-and-track.ts';
export type { BuiltField } from './folder/folder.ts';
export {
	type ColumnReading,
	type FieldReport,
	type Given,
	type IntakeOptions,
	type IntakeReport,
	type Question,
	type SourceReport,
	USES,
	type Use,
} from './model.ts';
export { cropGiven } from './names/crop-names.ts';
export { intakeJson } from './report.ts';
export { isZone } from './time/to-utc.ts';
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
	const tables = readTables(raw, options);
	const logs = tables.filter(isLog);
	const rows = logs.map((r) => r.log.log);
	const loads = tables.flatMap((r) => r.loads ?? []);
	const outlines = sortOutlines(raw.boundaries, answers);
	const found = findFields(rows, (k) => logs[k]!.given, namesInCart(loads), outlines.fields);
	const tracks = tables.flatMap((r) => r.track ?? []);
	const assigned = assignLoads(loads, found.fields, fieldByTrack(tracks, found.fields, rows));
	const alone = found.fields.length === 1;
	const taken = new Set<string>();
	const fields = found.fields.map((field, k) => {
		const folder = free(slug(field.name, 'field'), taken);
		const own = logsOf(field).map((i) => logs[i]!.given);
		const given: Given = Object.assign({}, ...own, givenFor(answers, folder, null));
		const named = alone && typeof given.field === 'string' ? { ...field, name: given.field } : field;
		const varieties = alone ? outlines.varieties : [];
		return buildFolder({ folder, field: named, found, logs, loads: assigned.loads[k]!, varieties, given, options });
	});
	const report: IntakeReport = {
		schema: 'steelyard.intake/1',
		sources: sourcesOf({
			raw,
			tables,
			used: found.fields.flatMap((f) => f.boundary ?? []),
			idle: found.idle,
			unwanted: outlines.unwanted,
			varieties: outlines.varieties,
			fields: fields.length,
		}),
		fields: fields.map((f) => f.report),
		set_aside: [...logs.map((r) => r.log), ...loads, found, assigned].flatMap((part) => part.leftOut),
	};
	const files = fields.flatMap((f) => f.files.map((file) => ({ ...file, name: `${f.report.folder}/${file.name}` })));
	return { report, fields, outputs: [...files, intakeJson(report)], tables };
}

/** Names of combines in lists of loads; a load of two names both. */
function namesInCart(loads: readonly LoadTable[]): string[] {
	const noted = loads.flatMap((l) => l.rows.flatMap((r) => (r.text.combine ?? '').split('+')));
	return [...new Set(noted.map((name) => name.trim()))].filter((name) => name !== '');
}

/** Outlines of fields and of varieties, by the user's answer or by what their properties name; and those left out. */
function sortOutlines(boundaries: readonly RawBoundary[], answers: Record<string, Given>) {
	const use = (b: RawBoundary) =>
		useGiven(givenFor(answers, b.file, null)) ?? (varietyOf(b) === null ? 'boundary' : 'varieties');
	return {
		fields: boundaries.filter((b) => use(b) === 'boundary'),
		varieties: boundaries.filter((b) => use(b) === 'varieties'),
		unwanted: boundaries.filter((b) => use(b) !== 'boundary' && use(b) !== 'varieties'),
	};
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
