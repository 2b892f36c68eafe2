import * as v from 'valibot';
import {
	CART,
	type ColumnPlan,
	type Crop,
	caution,
	excerpt,
	type FieldPlan,
	type LogPlan,
	type Note,
	remark,
	type SetAside,
	TANK,
	type TablePlan,
	wholeFile,
} from '../../model/index.ts';
import { CROPS, cropNamed } from '../../units/index.ts';
import { Zone } from '../../units/zone.ts';
import { EARLIEST_S, LATEST_S, timeFromText } from '../time/parse-time.ts';
import { type FieldJson, fieldSchema } from './schema.ts';
import { unknownEntries } from './unknown.ts';

const FILE = 'field.json';

/** Result of reading field.json: a plan if it has no faults, otherwise all faults. */
export interface ReadPlan {
	plan: FieldPlan | null;
	zone: Zone | null;
	faults: SetAside[];
	notes: Note[];
}

/** Checks the object in field.json and fills in every default. Reports every fault at once. */
export function readPlan(json: unknown): ReadPlan {
	const faults: SetAside[] = [];
	const notes: Note[] = [];
	const fault = (column: string | null, found: unknown, why: string) => {
		faults.push(wholeFile(FILE, describe(found), why, column));
	};
	if (Array.isArray(json)) {
		fault(null, json, fieldSchema.message as string);
		return { plan: null, zone: null, faults, notes };
	}
	const parsed = v.safeParse(fieldSchema, json);
	for (const issue of parsed.issues ?? []) {
		const path = v.getDotPath(issue as v.BaseIssue<unknown>);
		const missing = issue.received === 'undefined' && issue.kind === 'schema' && path !== null;
		fault(path, missing ? '' : issue.input, missing ? `this entry is missing${wanted(path)}` : issue.message);
	}
	// Later checks look at each part alone, so that they run even where another part is invalid.
	const raw = (typeof json === 'object' && json !== null ? json : {}) as Record<string, unknown>;
	const crop = typeof raw.crop === 'string' ? namedCrop(raw.crop, fault) : null;
	const zone = zoneOf(raw.timeZone, fault);
	checkNames(raw, fault);
	if (!parsed.success) return { plan: null, zone, faults, notes };

	const { intake, questions, ...given } = parsed.output;
	const plan: FieldPlan = {
		...given,
		name: given.name ?? 'Field',
		crop: crop ?? ownCrop(given.crop, fault),
		boundary: inside(given.boundary),
		varieties: inside(given.varieties),
		logs: given.logs.map(logPlan),
		cartLog: tablePlan(given.cartLog),
		cartTrace: tablePlan(given.cartTrace),
		tickets: tablePlan(given.tickets),
		combines: byName(given.combines),
		scales: byName(given.scales),
		events: events(given, zone, fault),
		pins: given.pins as FieldPlan['pins'],
		total: given.total ? { wet_kg: given.total.wet_kg, u_rel: given.total.u_pct / 100 } : null,
		flags: given.flags as FieldPlan['flags'],
		destinations: byName(given.destinations),
	};
	for (const [name, { limit_pct }] of Object.entries(plan.scales)) {
		if (limit_pct === null || limit_pct >= 100 * CART.certified_rel) continue;
		plan.scales[name] = { ...plan.scales[name]!, limit_pct: null };
		const why = `no cart scale is that good, as certified scales may be ${100 * CART.certified_rel}% off. Is it a fraction? It is a percentage: 1 for 1%`;
		notes.push(caution(`${FILE}: scales.${name}.limit_pct is ${limit_pct}: ${why}. It is not used.`));
	}
	for (const [name, { tank_kg }] of Object.entries(plan.combines)) {
		const [least, most] = TANK.size_kg;
		if (tank_kg === null || (tank_kg >= least && tank_kg <= most)) continue;
		plan.combines[name] = { ...plan.combines[name]!, tank_kg: null };
		const why = `combines' tanks hold ${least} to ${most} kg. Is it in another unit, such as bushels or pounds?`;
		notes.push(caution(`${FILE}: combines.${name}.tank_kg is ${tank_kg}: ${why} It is not used.`));
	}
	const extra = Object.fromEntries(Object.entries(raw).filter(([key]) => !Object.hasOwn(fieldSchema.entries, key)));
	if (Object.keys(extra).length > 0) plan.extra = extra;
	if (intake !== undefined) plan.intake = intake;
	const unknown = unknownEntries(fieldSchema, raw);
	if (unknown.length > 0) {
		notes.push(remark(`${FILE}: not known here and not used: ${unknown.join(', ')}.`));
	}
	return { plan: faults.length === 0 ? plan : null, zone, faults, notes };
}

function wanted(path: string | null): string {
	if (path === 'crop')
		return `: "crop": one of ${CROPS.map((c) => c.name).join(', ')}, or { "name", "bushel_kg", "market_moisture_pct" }`;
	if (path === 'logs') return ': "logs": [ { "file": "…", "combine": "…" } ]';
	return '';
}

/**
 * Normalized name of a file inside the folder ("./a//b.csv" is "a/b.csv"), or null for a name outside the folder: an
 * absolute one, one with `..`, a drive, a backslash.
 */
export function nameInside(name: string): string | null {
	if (name.startsWith('/') || name.includes('\\') || name.includes('\0') || /^[A-Za-z]:/.test(name)) return null;
	const parts = name.split('/').filter((part) => part !== '' && part !== '.');
	return parts.length === 0 || parts.includes('..') ? null : parts.join('/');
}

type ReportFault = (column: string | null, found: unknown, why: string) => void;

const describe = (found: unknown): string => (found === undefined || found === '' ? '' : excerpt(found));

function namedCrop(name: string, fault: ReportFault): Crop | null {
	const crop = cropNamed(name);
	if (crop !== null) return crop;
	const known = CROPS.map((c) => c.name).join(', ');
	fault('crop', name, `this crop is not known; accepted: ${known}, or { "name", "bushel_kg", "market_moisture_pct" }`);
	return null;
}

function ownCrop(given: FieldJson['crop'], fault: ReportFault): Crop {
	const own = typeof given === 'string' ? { name: given } : given;
	const table = cropNamed(own.name);
	const bushel_kg = ('bushel_kg' in own ? own.bushel_kg : undefined) ?? table?.bushel_kg;
	const moisture = ('market_moisture_pct' in own ? own.market_moisture_pct : undefined) ?? table?.market_moisture_pct;
	if (typeof given !== 'string' && (bushel_kg === undefined || moisture === undefined)) {
		fault('crop', given, 'a crop of your own needs "bushel_kg" and "market_moisture_pct"');
	}
	return { name: own.name, bushel_kg: bushel_kg ?? 1, market_moisture_pct: moisture ?? 0 };
}

function zoneOf(name: unknown, fault: ReportFault): Zone | null {
	if (typeof name !== 'string') return null;
	try {
		return new Zone(name);
	} catch {
		fault('timeZone', name, 'unknown time zone; expected an IANA name such as "America/Chicago"');
		return null;
	}
}

/** Reports names of files outside the folder, and names of combines that cannot be table keys. */
function checkNames(raw: Record<string, unknown>, fault: ReportFault): void {
	const file = (column: string, name: unknown) => {
		if (typeof name === 'string' && nameInside(name) === null) {
			fault(column, name, 'expected a file inside the field folder, named relative to it');
		}
	};
	const part = (value: unknown): Record<string, unknown> =>
		typeof value === 'object' && value !== null ? (value as Record<string, unknown>) : {};
	file('boundary', raw.boundary);
	file('varieties', raw.varieties);
	const tables = new Map<string, string>();
	const once = (column: string, name: unknown) => {
		file(column, name);
		const inside = typeof name === 'string' ? nameInside(name) : null;
		if (inside === null) return;
		const before = tables.get(inside);
		if (before === undefined) tables.set(inside, column);
		else fault(column, name, `this file is listed twice, as ${before} too: its records would count twice`);
	};
	for (const [i, log] of (Array.isArray(raw.logs) ? raw.logs : []).entries()) {
		once(`logs.${i}.file`, part(log).file);
		const name = part(log).combine;
		if (typeof name === 'string') combineName(`logs.${i}.combine`, name, fault);
	}
	for (const key of ['cartLog', 'cartTrace', 'tickets']) once(`${key}.file`, part(raw[key]).file);
	for (const key of ['combines', 'scales']) {
		for (const name of Object.keys(part(raw[key]))) combineName(key, name, fault);
	}
}

function combineName(column: string, name: string, fault: ReportFault): void {
	if (!nameUsable(name)) fault(column, name, 'this name cannot be used; choose another');
}

/** False for blank names and the few that JavaScript objects reserve. */
export function nameUsable(name: string): boolean {
	return name.trim() !== '' && !['__proto__', 'constructor', 'prototype'].includes(name.trim());
}

function inside(name: string | null): string | null {
	return name === null ? null : nameInside(name);
}

function tablePlan(given: FieldJson['cartLog']): TablePlan | null {
	return given ? { file: nameInside(given.file) ?? given.file, columns: columnPlans(given.columns) } : null;
}

function columnPlans(given: FieldJson['logs'][number]['columns']): Record<string, ColumnPlan> | null {
	return given && byName(given as Record<string, ColumnPlan>);
}

function logPlan(given: FieldJson['logs'][number]): LogPlan {
	return {
		file: nameInside(given.file) ?? given.file,
		columns: columnPlans(given.columns),
		combine: given.combine?.trim() || null,
	};
}

/** The same by trimmed names; a name is never taken for a built-in property of objects. */
function byName<A>(given: Record<string, A>): Record<string, A> {
	const made: Record<string, A> = Object.create(null);
	for (const [name, value] of Object.entries(given)) made[name.trim()] = value;
	return made;
}

function events(given: FieldJson, zone: Zone | null, fault: ReportFault): FieldPlan['events'] {
	return given.events.map((event, i) => ({
		time_s: moment(event.time, zone, `events.${i}.time`, fault),
		combine: event.combine?.trim() || null,
		kind: event.kind,
		note: event.note,
	}));
}

/** A time in field.json itself, as UTC seconds; NaN and a fault if it is invalid. */
export function moment(text: string, zone: Zone | null, column: string, fault: ReportFault): number {
	const time = timeFromText(text);
	if (time === null || time.reading_s < EARLIEST_S || time.reading_s >= LATEST_S) {
		fault(column, text, 'expected a time such as 2026-10-03T14:05:00Z');
		return Number.NaN;
	}
	if (!Number.isNaN(time.offset_s)) return time.reading_s - time.offset_s;
	if (zone !== null) return zone.utc_s(time.reading_s);
	fault(column, text, 'this time has no offset from UTC, and "timeZone" is not given');
	return Number.NaN;
}
