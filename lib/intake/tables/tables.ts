import type { RawSet, RawTable } from '../../formats/index.ts';
import { medianPlace } from '../../geo/utm.ts';
import type { System } from '../../units/index.ts';
import { givenFor, signatureOf, useGiven } from '../answers.ts';
import { type CartTrack, trackOf } from '../loads/cart-track.ts';
import { findLoads } from '../loads/find-loads.ts';
import { loadRoles } from '../loads/load-columns.ts';
import type { LoadTable } from '../loads/load-table.ts';
import { type FoundLog, findLog } from '../log/find-log.ts';
import type { Given, IntakeOptions, Use } from '../model.ts';
import { cropGiven, cropInName } from '../names/crop-names.ts';
import { rolesByName } from '../names/roles-by-name.ts';
import { LOG_WORDS } from '../names/words.ts';
import { findPlaces } from '../place/find-places.ts';
import { type DateOrder, orderShown } from '../time/order.ts';
import { copiesOf } from './copies.ts';

export interface ReadTable {
	table: RawTable;
	signature: string;
	given: Given;
	log: FoundLog | null;
	loads: LoadTable | null;
	/** Positions of the cart, from a track without weights. */
	track: CartTrack | null;
	/** Why it is none of these. */
	why: string | null;
}

/** A table that was read as a log. */
export type ReadLog = ReadTable & { log: FoundLog };

export const isLog = (r: ReadTable): r is ReadLog => r.log !== null;

/** What the tables of a drop tell of each other. */
interface Drop {
	options: IntakeOptions;
	tables: readonly ReadTable[];
	/** True if there are weights. */
	weighed: boolean;
	/** Order of day and month that one of the tables shows. */
	order: DateOrder | null;
	/** Where the logs lie. */
	place: { lon_deg: number; lat_deg: number } | null;
	/** Country of the logs' units. */
	system: System | null;
	/** Grain of all logs, kg; NaN without any. */
	logs_kg: number;
}

/** Reads every table of a drop: logs first, then weights, using the logs' times, places and units. */
export function readTables(raw: RawSet, options: IntakeOptions): ReadTable[] {
	const tables = raw.tables.map((table): ReadTable => {
		const signature = signatureOf(table);
		const given = givenFor(options.answers ?? {}, table.file, signature);
		return { table, signature, given, log: null, loads: null, track: null, why: null };
	});
	const weights = tables.filter(weighs);
	const rest = tables.filter((r) => !weights.includes(r));
	leaveOut(raw, tables);
	const weighed = weights.length > 0;
	const drop: Drop = { options, tables, weighed, order: null, place: null, system: null, logs_kg: Number.NaN };
	for (const r of rest) readLog(r, drop);
	leaveCopiesOut(tables);
	drop.order = rest.find((r) => r.log?.order)?.log?.order ?? null;
	drop.place = placeOf(tables);
	drop.system = systemOf(tables);
	const logs_kg = tables.reduce((s, r) => s + massOf(r), 0);
	if (logs_kg > 0) drop.logs_kg = logs_kg;
	for (const r of [...rest, ...weights]) if (r.log === null && useGiven(r.given) !== 'log') readLoads(r, drop);
	// Tables that state no unit of weight use that of another table, whichever came first.
	for (const r of tables) if (asks(r.loads, 'unit of ')) readLoads(r, drop);
	// The day and month order found in another file of the drop applies to those without evidence.
	drop.order ??= orderShown(tables.flatMap((r) => r.loads?.columns ?? []));
	for (const r of drop.order === null ? [] : tables) {
		if (asks(r.log, 'date order')) readLog(r, drop);
		if (asks(r.loads, 'date order')) readLoads(r, drop);
	}
	for (const r of tables.filter((r) => r.log === null && r.loads === null && r.why === null)) {
		r.track = trackOf(r.table);
		r.why = whyNothing(r.table, r.given);
	}
	return tables;
}

function readLog(r: ReadTable, { options, order, weighed }: Drop): void {
	if (r.why !== null) return;
	r.log = findLog(r.table, {
		given: r.given,
		crop: cropGiven(r.given.crop) ?? cropGiven(options.crop) ?? cropInName(r.table.file),
		timeZone: options.timeZone ?? null,
		order,
		weighed,
	});
}

function readLoads(r: ReadTable, { options, tables, order, place, system, logs_kg }: Drop): void {
	if (r.why !== null) return;
	const [crop, timeZone] = [cropGiven(options.crop), options.timeZone ?? null];
	const custom = customOf(tables);
	r.loads = findLoads(r.table, { given: r.given, crop, timeZone, place, order, system, logs_kg, custom });
}

/** Whether something about a table is still to be asked. */
const asks = (found: FoundLog | LoadTable | null, about: string): boolean =>
	found?.questions.some((q) => q.about.startsWith(about)) ?? false;

/** Leaves out what the user says is of no use here; and identical bytes are one file. */
function leaveOut(raw: RawSet, tables: readonly ReadTable[]): void {
	const first = new Map<string, string>();
	for (const { file, sha256 } of raw.files) {
		const before = first.get(sha256);
		if (sha256 === '') continue;
		if (before === undefined) first.set(sha256, file);
		else
			for (const r of tables)
				if (r.table.file === file || r.table.file.startsWith(`${file}/`))
					r.why = `the same file as ${before}, byte for byte: it counts once`;
	}
	for (const r of tables) {
		const use = useGiven(r.given);
		if (use === 'none' || use === 'boundary' || use === 'varieties') r.why = 'left out, as answered';
	}
}

/** The same records under another name are one log. */
function leaveCopiesOut(out: readonly ReadTable[]): void {
	const logs = out.filter(isLog);
	const copies = copiesOf(logs.map((r) => r.log.log));
	logs.forEach((r: ReadTable, k) => {
		const first = logs[copies[k]!];
		if (first === undefined) return;
		r.why = `its records are those of ${first.table.file}: they count once`;
		r.log = null;
	});
}

/** A unit of weight stated by a table of the drop. */
function customOf(out: readonly ReadTable[]): string | null {
	for (const { loads } of out) {
		const stated = loads?.columns.find(
			(c) => (c.as === 'weight' || c.as === 'gross') && c.because.some((b) => b.startsWith('it says')),
		);
		if (stated?.unit) return stated.unit;
	}
	return null;
}

const isLoads = (use: Use | null) => use === 'cart' || use === 'tickets' || use === 'trace';

/** A table of weights: it has columns that only such tables have, and none of a monitor's; or the user says so. */
function weighs({ table, given }: ReadTable): boolean {
	const use = useGiven(given);
	if (use !== null) return isLoads(use);
	if (table.kind === 'taskdata' || monitors(table)) return false;
	const { roles } = loadRoles(table, given);
	if (table.kind === 'spreadsheet' && table.n < 2000 && roles.has('weight')) return true;
	const unloaded = roles.has('gross') && roles.has('tare');
	const telling = roles.has('event') || roles.has('emptied') || roles.has('ticket') || unloaded;
	return (roles.has('weight') || unloaded) && (telling || table.n < 200 || !findPlaces(table, given));
}

/** Whether it has a column that only a yield monitor writes. */
function monitors(table: RawTable): boolean {
	return table.columns.some((c) => {
		if (c.as === 'flow' || c.as === 'yield' || c.as === 'swath') return true;
		const roles = rolesByName(c.name, LOG_WORDS);
		return (roles.get('yield') ?? 0) > 0.8 || (roles.get('flow') ?? 0) > 0.8 || (roles.get('swath') ?? 0) > 0.85;
	});
}

function placeOf(out: readonly ReadTable[]): { lon_deg: number; lat_deg: number } | null {
	for (const { log } of out) {
		if (!log || log.questions.some((q) => q.about === 'position')) continue;
		const middle = medianPlace(log.log.lon_deg, log.log.lat_deg);
		if (Number.isFinite(middle.lon_deg)) return middle;
	}
	return null;
}

function systemOf(out: readonly ReadTable[]): System | null {
	for (const { log } of out) {
		for (const c of log?.columns ?? []) {
			if (c.as !== 'distance' && c.as !== 'swath') continue;
			if (c.unit === 'ft' || c.unit === 'in') return 'us';
			if (c.unit === 'm') return 'metric';
		}
	}
	return null;
}

function massOf({ log }: ReadTable): number {
	let kg = 0;
	if (log)
		for (let i = 0; i < log.log.n; i++)
			if (log.log.keep[i] === 1) kg += log.log.flow_kg_s[i]! * log.log.interval_s[i]! || 0;
	return kg;
}

/** What a table lacks, and what would help. */
function whyNothing(table: RawTable, given: Given): string {
	if (table.kind === 'gpx')
		return 'a track of positions without weights and without times: it is not used; export it with its times, and add the cart’s list of weights';
	const use = useGiven(given);
	const places = findPlaces(table, given);
	const names = table.columns
		.map((c) => c.name)
		.slice(0, 12)
		.join(', ');
	if (isLoads(use))
		return `${use} as answered, but no column of weights is found in it; its columns: ${names}. Say which it is in the answers, as { "as COLUMN": "weight" }`;
	if (places === null)
		return `no columns of positions (latitude and longitude) and none of weights are found in it; its columns: ${names}`;
	return `positions but neither flow nor yield nor weights are found in it; its columns: ${names}. Say which is which in the answers, as { "as COLUMN": "flow" }`;
}
