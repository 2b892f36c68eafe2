import type { RawBoundary } from '../../formats/index.ts';
import type { Crop, Output } from '../../model/index.ts';
import { groupBy } from '../../stats/group.ts';
import { cropNamed } from '../../units/index.ts';
import type { FieldLoads } from '../fields/assign-loads.ts';
import { type FieldRows, type FoundFields, logsOf } from '../fields/find-fields.ts';
import { spanOf } from '../fields/machine-names.ts';
import { type FieldReport, type Given, type IntakeOptions, type Question, question } from '../model.ts';
import type { ReadLog } from '../tables/tables.ts';
import { cropFor, cropQuestion, type Track, trackOf, varietyOf } from './crop-and-track.ts';
import { free, slug, timeCellOf } from './csv-text.ts';
import { cartFile, namesFit, ticketsFile, traceFile } from './loads-file.ts';
import { type LogPart, logFile } from './log-file.ts';

/** A field and what is known of it. */
interface FolderInput {
	folder: string;
	field: FieldRows;
	found: FoundFields;
	/** Every log of the drop, by its index. */
	logs: readonly ReadLog[];
	loads: FieldLoads;
	varieties: readonly RawBoundary[];
	given: Given;
	options: IntakeOptions;
}

/** The field's logs, its crop and its time zone. */
function partsOf({ field, logs, given, options }: FolderInput) {
	const own = logsOf(field).map((k) => logs[k]!);
	return { own, crop: cropFor(own, given, options), timeZone: options.timeZone ?? own[0]?.log.log.zone ?? null };
}
type Parts = ReturnType<typeof partsOf>;

/** A field folder to be written, and its open questions. */
export interface BuiltField {
	report: FieldReport;
	/** Files of the folder by relative name. */
	files: Output[];
	/** Questions without whose answers the field cannot be corrected. */
	blocking: Question[];
	/** Positions of the records and the boundary, for a picture. */
	tracks: Track[];
	outline: RawBoundary['geometry'] | null;
	/** IANA name of the zone in which times are shown; null if none is known. */
	timeZone: string | null;
}

/** One field as a folder under the contract's names. */
export function buildFolder(input: FolderInput): BuiltField {
	const { field, loads } = input;
	const parts = partsOf(input);
	const { crop, timeZone } = parts;
	const machines = machinesOf(input);
	const names = machines.map((m) => m.name);
	const fits = namesFit(loads.cart, names);
	const questions = questionsOf(input, parts, fits ? null : names);
	const notes = notesOf(input, parts);
	const json = {
		...descriptionOf(field, parts),
		...(field.boundary && { boundary: 'boundary.geojson' }),
		...(input.varieties.length > 0 && { varieties: 'varieties.geojson' }),
		logs: machines.map(({ name, file }) => ({ file, combine: name })),
		...(loads.cart.length > 0 && { cartLog: { file: 'cart.csv' } }),
		...(loads.tickets.length > 0 && { tickets: { file: 'tickets.csv' } }),
		...(loads.trace.length > 0 && { cartTrace: { file: 'trace.csv' } }),
		combines: Object.fromEntries(machines.flatMap((m) => (m.totals ? [[m.name, { display_total: m.totals }]] : []))),
		intake: { notes, columns: columnsOf(parts) },
		...(questions.length > 0 && { questions }),
	};
	const files: Output[] = [
		{ name: 'field.json', chunks: () => [new TextEncoder().encode(`${JSON.stringify(json, null, '\t')}\n`)] },
		...machines.map((m) => logFile(m.file, m.parts)),
		...(field.boundary ? [geojson('boundary.geojson', [field.boundary])] : []),
		...(input.varieties.length > 0 ? [geojson('varieties.geojson', input.varieties)] : []),
		...(loads.cart.length > 0 ? [cartFile(loads.cart, fits)] : []),
		...(loads.tickets.length > 0 ? [ticketsFile(loads.tickets)] : []),
		...(loads.trace.length > 0 ? [traceFile(loads.trace)] : []),
	];
	return {
		report: {
			folder: input.folder,
			name: field.name,
			crop: crop?.crop.name ?? null,
			crop_because: crop?.because ?? null,
			boundary: field.boundary !== null,
			because: field.because,
			combines: machines.map((m) => combineReport(m.name, m.parts, field.timeless)),
			dumps: loads.cart.filter((p) => p.row.event === 'dump').length,
			tickets: loads.tickets.length,
			notes,
			questions,
		},
		files,
		blocking: questions.filter((q) => q.blocking),
		tracks: machines.map((m) => trackOf(m.name, m.parts)),
		outline: field.boundary?.geometry ?? null,
		timeZone,
	};
}

/** The field's machines by name, each with its rows, the file they go to, and its own counters. */
function machinesOf({ field, found, logs }: FolderInput) {
	const taken = new Set(['cart', 'tickets', 'trace', 'boundary', 'varieties', 'field']);
	return [...groupBy(field.parts, (part) => found.names[part.machine]!)].map(([name, own]) => {
		const parts = own.map(({ log, rows }): LogPart => ({ log: logs[log]!.log.log, rows }));
		return { name, parts, file: `${free(slug(name, 'log'), taken)}.csv`, totals: wholeTotals(parts) };
	});
}

/** What field.json says of the field itself. */
function descriptionOf(field: FieldRows, { own, crop, timeZone }: Parts): Record<string, unknown> {
	const year = new Date(field.start_s * 1000).getUTCFullYear();
	const said = (key: 'client' | 'farm') => {
		const first = own.map((r) => r.table.meta[key]).find((v) => v !== undefined && v !== '');
		return first === undefined ? {} : { [key]: first };
	};
	return {
		name: field.name,
		...(!field.timeless && Number.isFinite(year) && { season: year }),
		...said('client'),
		...said('farm'),
		...(crop && { crop: asWritten(crop.crop) }),
		...(timeZone && { timeZone }),
	};
}

/** A crop's name, if that says all of it. */
function asWritten(crop: Crop): string | Crop {
	const known = cropNamed(crop.name);
	const usual = known?.bushel_kg === crop.bushel_kg && known.market_moisture_pct === crop.market_moisture_pct;
	return usual ? crop.name : crop;
}

/** How the columns of each log were read, for field.json. */
const columnsOf = ({ own }: Parts) =>
	own.map(({ table, log }) => ({
		file: table.file,
		columns: log.columns
			.filter((c) => c.as !== null)
			.map(({ column, as, unit, sure, because }) => ({
				column,
				as,
				unit,
				sure: Math.round(sure * 100) / 100,
				because,
			})),
	}));

/** What is open: the crop, what the tables leave open, and names in the cart's list that are none of the logs'. */
function questionsOf({ field, loads }: FolderInput, { own, crop }: Parts, misfits: string[] | null): Question[] {
	const lists = new Set([...loads.cart, ...loads.tickets].map((p) => p.from));
	return [
		...(crop === null ? [cropQuestion(own, field.name)] : []),
		...own.flatMap((r) => r.log.questions),
		...[...lists].flatMap((l) => l.questions),
		...(misfits === null ? [] : [namesQuestion(loads, misfits)]),
	];
}

function namesQuestion(loads: FieldLoads, combines: readonly string[]): Question {
	const noted = [...new Set(loads.cart.map((p) => p.row.text.combine ?? '').filter((n) => n !== ''))].join(', ');
	return question(loads.cart[0]?.from.table.file ?? null, {
		about: 'combine',
		text: `The cart’s list names ${noted}; the logs are of ${combines.join(', ')}. Which of the list’s names belongs to which log?`,
		taken: 'names of the list are not used',
	});
}

function notesOf({ field, found, varieties }: FolderInput, { own, crop }: Parts): string[] {
	const outlines = [...(field.boundary ? [field.boundary] : []), ...varieties];
	const files = [...own.map(({ table, log }) => ({ file: table.file, notes: log.notes })), ...outlines];
	const out = files.flatMap(({ file, notes }) => notes.map((note) => `${file}: ${note.replace(/\.$/, '')}.`));
	if (crop) out.push(`Crop ${crop.crop.name}: ${crop.because}.`);
	if (field.timeless) out.push('The time of day is not known: times count from an arbitrary start.');
	return [...new Set([...out, ...found.notes.map((n) => `${n}.`)])];
}

function combineReport(name: string, parts: readonly LogPart[], timeless: boolean): FieldReport['combines'][number] {
	const spans = parts.map(({ log, rows }) => spanOf(log.time_s, rows));
	let kg = 0;
	let m2 = 0;
	for (const { log, rows } of parts) {
		for (const i of rows) {
			const mass = log.flow_kg_s[i]! * log.interval_s[i]!;
			if (!Number.isFinite(mass)) continue;
			kg += mass;
			if (mass > 0 && log.header[i] !== 0) m2 += log.distance_m[i]! * log.swath_m[i]! || 0;
		}
	}
	const written = (t: number) => (timeless || !Number.isFinite(t) ? null : timeCellOf(t));
	return {
		name,
		records: parts.reduce((n, p) => n + p.rows.length, 0),
		start: written(Math.min(...spans.map((s) => s.start_s))),
		end: written(Math.max(...spans.map((s) => s.end_s))),
		monitor_kg: Math.round(kg * 10) / 10,
		area_ha: Math.round(m2 / 10) / 1000,
		sources: [...new Set(parts.map((p) => p.log.table.file))],
	};
}

/** The file's own counters, if the whole file is this machine's on this field. */
function wholeTotals(parts: readonly LogPart[]): { area_ha?: number; wet_kg?: number } | null {
	const total = { area_ha: 0, wet_kg: 0 };
	for (const { log, rows } of parts) {
		const { totals } = log.table;
		let kept = 0;
		for (const k of log.keep) kept += k;
		if (!totals || rows.length < 0.98 * kept) return null;
		total.area_ha += (totals.area_m2 ?? Number.NaN) / 10_000;
		total.wet_kg += totals.wet_kg ?? Number.NaN;
	}
	const counted = Object.entries(total).filter(([, sum]) => sum > 0);
	return counted.length === 0 ? null : Object.fromEntries(counted);
}

function geojson(name: string, boundaries: readonly RawBoundary[]): Output {
	const json = {
		type: 'FeatureCollection',
		features: boundaries.map((b) => {
			const variety = varietyOf(b);
			const properties = { name: b.name ?? null, ...(variety === null ? {} : { variety }) };
			return { type: 'Feature', properties, geometry: b.geometry };
		}),
	};
	return { name, chunks: () => [new TextEncoder().encode(`${JSON.stringify(json)}\n`)] };
}
