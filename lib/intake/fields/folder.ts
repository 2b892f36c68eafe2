import type { RawBoundary } from '../../formats/index.ts';
import type { Crop, Output } from '../../model/index.ts';
import { groupBy } from '../../stats/group.ts';
import { cropNamed } from '../../units/index.ts';
import type { LogRows, Question } from '../model.ts';
import type { ReadTable } from '../read-tables.ts';
import type { FieldReport } from '../report.ts';
import type { FieldLoads } from './assign.ts';
import type { FieldRows } from './gather.ts';
import { cartFile, namesFit, ticketsFile, traceFile } from './loads-file.ts';
import { type LogPart, logFile } from './log-file.ts';
import type { MachineRows } from './names.ts';
import { free, slug, timeCellOf } from './text.ts';
import { type Track, trackOf } from './track.ts';

export interface FolderInput {
	folder: string;
	field: FieldRows;
	machines: readonly MachineRows[];
	names: readonly string[];
	logs: readonly LogRows[];
	read: readonly ReadTable[];
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
	const { field, machines, names, logs, loads, crop } = input;
	const files: Output[] = [];
	const questions = [...input.questions];
	const taken = new Set(['cart', 'tickets', 'trace', 'boundary', 'varieties', 'field']);
	const byName = groupBy(field.parts, (part) => names[part.machine]!);
	const combines: FieldReport['combines'] = [];
	const tracks: Track[] = [];
	const entries: { file: string; combine: string }[] = [];
	const described: Record<string, unknown> = {};
	for (const [name, own] of byName) {
		const parts = own.map(({ machine, rows }): LogPart => ({ log: logs[machines[machine]!.log]!, rows }));
		const file = `${free(slug(name, 'log'), taken)}.csv`;
		files.push(logFile(file, parts));
		entries.push({ file, combine: name });
		combines.push(combineReport(name, parts, input.timeless));
		tracks.push(trackOf(name, parts));
		const totals = wholeTotals(parts);
		if (totals) described[name] = { display_total: totals };
	}
	const json: Record<string, unknown> = { name: field.name };
	const year = new Date(field.start_s * 1000).getUTCFullYear();
	if (!input.timeless && Number.isFinite(year)) json.season = year;
	const metas = field.parts.map((p) => (logs[(machines[p.machine] as MachineRows).log] as LogRows).table.meta);
	for (const key of ['client', 'farm'] as const) {
		const said = metas.map((m) => m[key]).find((v) => v !== undefined && v !== '');
		if (said !== undefined) json[key] = said;
	}
	const known = crop && cropNamed(crop.crop.name);
	if (crop) {
		const { bushel_kg, market_moisture_pct } = crop.crop;
		const usual = known?.bushel_kg === bushel_kg && known.market_moisture_pct === market_moisture_pct;
		json.crop = usual ? crop.crop.name : crop.crop;
	}
	if (input.timeZone) json.timeZone = input.timeZone;
	if (field.boundary) {
		json.boundary = 'boundary.geojson';
		files.push(geojson('boundary.geojson', [field.boundary]));
	}
	if (input.varieties.length > 0) {
		json.varieties = 'varieties.geojson';
		files.push(geojson('varieties.geojson', input.varieties));
	}
	json.logs = entries;
	if (loads.cart.length > 0) {
		json.cartLog = { file: 'cart.csv' };
		const fits = namesFit(loads.cart, [...byName.keys()]);
		if (!fits) questions.push(namesQuestion(loads, [...byName.keys()]));
		files.push(cartFile(loads.cart, fits));
	}
	if (loads.tickets.length > 0) {
		json.tickets = { file: 'tickets.csv' };
		files.push(ticketsFile(loads.tickets));
	}
	if (loads.trace.length > 0) {
		json.cartTrace = { file: 'trace.csv' };
		files.push(traceFile(loads.trace));
	}
	json.combines = described;
	const notes = notesOf(input);
	json.intake = {
		notes,
		columns: [...new Set(field.parts.map((p) => (machines[p.machine] as MachineRows).log))].map((k) => {
			const r = input.read[k] as ReadTable;
			return {
				file: r.table.file,
				columns: (r.log?.columns ?? [])
					.filter((c) => c.as !== null)
					.map(({ column, as, unit, sure, because }) => ({
						column,
						as,
						unit,
						sure: Math.round(sure * 100) / 100,
						because,
					})),
			};
		}),
	};
	const blocking = questions.filter((q) => q.blocking);
	if (questions.length > 0) json.questions = questions;
	files.unshift({
		name: 'field.json',
		chunks: () => [new TextEncoder().encode(`${JSON.stringify(json, null, '\t')}\n`)],
	});
	return {
		report: {
			folder: input.folder,
			name: field.name,
			crop: crop?.crop.name ?? null,
			crop_because: crop?.because ?? null,
			boundary: field.boundary !== null,
			because: field.because,
			combines,
			dumps: loads.cart.filter((p) => p.row.event === 'dump').length,
			tickets: loads.tickets.length,
			notes,
			questions,
		},
		files,
		blocking,
		tracks,
		outline: field.boundary?.geometry ?? null,
		timeZone: input.timeZone,
	};
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

function notesOf({ field, machines, read, crop, notes, timeless }: FolderInput): string[] {
	const own = [...new Set(field.parts.map((p) => (machines[p.machine] as MachineRows).log))];
	const out = own.flatMap((k) => (read[k]?.log?.notes ?? []).map((note) => `${read[k]?.table.file}: ${note}.`));
	if (crop) out.push(`Crop ${crop.crop.name}: ${crop.because}.`);
	if (timeless) out.push('The time of day is not known: times count from an arbitrary start.');
	return [...new Set([...out, ...notes.map((n) => `${n}.`)])];
}

function combineReport(name: string, parts: readonly LogPart[], timeless: boolean): FieldReport['combines'][number] {
	let records = 0;
	let start = Number.POSITIVE_INFINITY;
	let end = Number.NEGATIVE_INFINITY;
	let kg = 0;
	let m2 = 0;
	for (const { log, rows } of parts) {
		records += rows.length;
		for (const i of rows) {
			const t = log.time_s[i]!;
			if (t < start) start = t;
			if (t > end) end = t;
			const mass = log.flow_kg_s[i]! * log.interval_s[i]!;
			if (!Number.isFinite(mass)) continue;
			kg += mass;
			if (mass > 0 && log.header[i] !== 0) m2 += log.distance_m[i]! * log.swath_m[i]! || 0;
		}
	}
	const written = (t: number) => (timeless || !Number.isFinite(t) ? null : timeCellOf(t));
	return {
		name,
		records,
		start: written(start),
		end: written(end),
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
