import type { RawBoundary } from '../../formats/index.ts';
import type { Crop, Output } from '../../model/index.ts';
import { groupBy } from '../../stats/group.ts';
import { cropNamed } from '../../units/index.ts';
import { type FieldRows, logsOf } from '../fields/fields.ts';
import type { FieldLoads } from '../fields/loads.ts';
import { spanOf } from '../fields/names.ts';
import type { Question } from '../model.ts';
import type { FieldReport } from '../report.ts';
import type { ReadLog } from '../tables/tables.ts';
import { type Track, trackOf } from './describe.ts';
import { cartFile, namesFit, ticketsFile, traceFile } from './loads-file.ts';
import { type LogPart, logFile } from './log-file.ts';
import { free, slug, timeCellOf } from './text.ts';

export interface FolderInput {
	folder: string;
	field: FieldRows;
	/** Names of the machines. */
	names: readonly string[];
	/** Every log of the drop, by its index. */
	read: readonly ReadLog[];
	loads: FieldLoads;
	varieties: readonly RawBoundary[];
	crop: { crop: Crop; because: string } | null;
	questions: readonly Question[];
	notes: readonly string[];
	timeless: boolean;
	timeZone: string | null;
}

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
	const { field, loads, crop, timeZone } = input;
	const machines = machinesOf(input);
	const names = machines.map((m) => m.name);
	const fits = namesFit(loads.cart, names);
	const questions = [...input.questions, ...(fits ? [] : [namesQuestion(loads, names)])];
	const notes = notesOf(input);
	const json = {
		...descriptionOf(input),
		...(field.boundary && { boundary: 'boundary.geojson' }),
		...(input.varieties.length > 0 && { varieties: 'varieties.geojson' }),
		logs: machines.map(({ name, file }) => ({ file, combine: name })),
		...(loads.cart.length > 0 && { cartLog: { file: 'cart.csv' } }),
		...(loads.tickets.length > 0 && { tickets: { file: 'tickets.csv' } }),
		...(loads.trace.length > 0 && { cartTrace: { file: 'trace.csv' } }),
		combines: Object.fromEntries(machines.flatMap((m) => (m.totals ? [[m.name, { display_total: m.totals }]] : []))),
		intake: { notes, columns: columnsOf(input) },
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
			combines: machines.map((m) => combineReport(m.name, m.parts, input.timeless)),
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
function machinesOf({ field, names, read }: FolderInput) {
	const taken = new Set(['cart', 'tickets', 'trace', 'boundary', 'varieties', 'field']);
	return [...groupBy(field.parts, (part) => names[part.machine]!)].map(([name, own]) => {
		const parts = own.map(({ log, rows }): LogPart => ({ log: read[log]!.log.log, rows }));
		return { name, parts, file: `${free(slug(name, 'log'), taken)}.csv`, totals: wholeTotals(parts) };
	});
}

/** What field.json says of the field itself. */
function descriptionOf({ field, read, crop, timeless, timeZone }: FolderInput): Record<string, unknown> {
	const year = new Date(field.start_s * 1000).getUTCFullYear();
	const metas = field.parts.map((p) => read[p.log]!.table.meta);
	const said = (key: 'client' | 'farm') => {
		const first = metas.map((m) => m[key]).find((v) => v !== undefined && v !== '');
		return first === undefined ? {} : { [key]: first };
	};
	return {
		name: field.name,
		...(!timeless && Number.isFinite(year) && { season: year }),
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
function columnsOf({ field, read }: FolderInput) {
	return logsOf(field).map((k) => ({
		file: read[k]!.table.file,
		columns: read[k]!.log.columns.filter((c) => c.as !== null).map(({ column, as, unit, sure, because }) => ({
			column,
			as,
			unit,
			sure: Math.round(sure * 100) / 100,
			because,
		})),
	}));
}

function namesQuestion(loads: FieldLoads, combines: readonly string[]): Question {
	const noted = [...new Set(loads.cart.map((p) => p.row.text.combine ?? '').filter((n) => n !== ''))].join(', ');
	return {
		about: 'combine',
		text: `The cart’s list names ${noted}; the logs are of ${combines.join(', ')}. Which of the list’s names is each log’s?`,
		choices: [],
		blocking: false,
		taken: 'names of the list are not used',
		file: loads.cart[0]?.from.table.file ?? null,
	};
}

function notesOf({ field, read, crop, notes, timeless }: FolderInput): string[] {
	const out = logsOf(field).flatMap((k) => read[k]!.log.notes.map((note) => `${read[k]!.table.file}: ${note}.`));
	if (crop) out.push(`Crop ${crop.crop.name}: ${crop.because}.`);
	if (timeless) out.push('The time of day is not known: times count from an arbitrary start.');
	return [...new Set([...out, ...notes.map((n) => `${n}.`)])];
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
			const variety = Object.entries(b.properties).find(
				([k, v]) => /variet|hybrid|cultivar|sorte/i.test(k) && v !== null,
			)?.[1];
			return {
				type: 'Feature',
				properties: { name: b.name ?? null, ...(variety === undefined ? {} : { variety: String(variety) }) },
				geometry: b.geometry,
			};
		}),
	};
	return { name, chunks: () => [new TextEncoder().encode(`${JSON.stringify(json)}\n`)] };
}
