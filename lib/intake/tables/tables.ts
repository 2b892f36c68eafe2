import type { RawSet, RawTable } from '../../formats/index.ts';
import { medianPlace } from '../../geo/utm.ts';
import { givenFor, signatureOf, useGiven } from '../answers.ts';
import { type CartTrack, trackOf } from '../fields/cart-track.ts';
import { loadRoles } from '../loads/columns.ts';
import { findLoads } from '../loads/loads.ts';
import type { LoadTable } from '../loads/model.ts';
import { type FoundLog, findLog } from '../log/log.ts';
import type { Given, IntakeOptions, Use } from '../model.ts';
import { cropGiven, cropInName } from '../names/crops.ts';
import { rolesByName } from '../names/match.ts';
import { LOG_WORDS } from '../names/words.ts';
import { findPlaces } from '../place/places.ts';
import { type DateOrder, orderShown } from '../time/order.ts';
import type { System } from '../units/units.ts';
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

/** Reads every table of a drop: logs first, then weights, using the logs' times, places and units. */
export function readTables(raw: RawSet, options: IntakeOptions): ReadTable[] {
	const out = raw.tables.map((table): ReadTable => {
		const signature = signatureOf(table);
		return {
			table,
			signature,
			given: givenFor(options.answers ?? {}, table.file, signature),
			log: null,
			loads: null,
			track: null,
			why: null,
		};
	});
	const weights = out.filter((r) => weighs(r.table, r.given));
	const rest = out.filter((r) => !weights.includes(r));
	sameAgain(raw, out);
	for (const r of out) {
		const use = useGiven(r.given);
		if (use === 'none' || use === 'boundary' || use === 'varieties') r.why = 'left out, as answered';
	}
	let order: DateOrder | null = null;
	const read = (r: ReadTable) => {
		if (r.why !== null || isLoads(useGiven(r.given))) return;
		r.log = findLog(r.table, {
			given: r.given,
			crop:
				cropGiven(r.given.crop) ??
				(options.crop === undefined ? null : cropGiven(options.crop)) ??
				cropInName(r.table.file),
			timeZone: options.timeZone ?? null,
			order,
			weighed: weights.length > 0,
		});
	};
	for (const r of rest) read(r);
	leaveCopiesOut(out);
	order = rest.find((r) => r.log?.order)?.log?.order ?? null;
	const place = placeOf(out);
	const system = systemOf(out);
	const logs_kg = out.reduce((s, r) => s + massOf(r), 0);
	const load = (r: ReadTable) => {
		r.loads = findLoads(r.table, {
			given: r.given,
			crop: options.crop === undefined ? null : cropGiven(options.crop),
			timeZone: options.timeZone ?? null,
			place,
			order,
			system,
			logs_kg: logs_kg > 0 ? logs_kg : Number.NaN,
			custom: customOf(out),
		});
	};
	for (const r of rest.concat(weights)) if (r.log === null && r.why === null && useGiven(r.given) !== 'log') load(r);
	// Tables that state no unit of weight use that of another table, whichever came first.
	for (const r of out) if (r.loads?.questions.some((q) => q.about.startsWith('unit of '))) load(r);
	// The day and month order found in another file of the drop applies to those without evidence.
	order ??= orderShown(out.flatMap((r) => r.loads?.columns ?? []));
	if (order !== null) {
		for (const r of rest) if (r.log?.questions.some((q) => q.about === 'date order')) read(r);
		for (const r of out) if (r.loads?.questions.some((q) => q.about === 'date order')) load(r);
	}
	for (const r of out) if (r.log === null && r.loads === null && r.why === null) r.track = trackOf(r.table);
	for (const r of out) if (r.log === null && r.loads === null) r.why ??= whyNothing(r.table, r.given);
	return out;
}

/** Identical bytes are one file. */
function sameAgain(raw: RawSet, out: readonly ReadTable[]): void {
	const first = new Map<string, string>();
	for (const file of raw.files) {
		if (file.sha256 === '') continue;
		const before = first.get(file.sha256);
		if (before === undefined) first.set(file.sha256, file.file);
		else
			for (const r of out)
				if (r.table.file === file.file || r.table.file.startsWith(`${file.file}/`))
					r.why = `the same file as ${before}, byte for byte: it counts once`;
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
function weighs(table: RawTable, given: Given): boolean {
	const use = useGiven(given);
	if (use !== null) return isLoads(use);
	if (table.kind === 'taskdata') return false;
	if (table.kind === 'spreadsheet' && table.n < 2000 && loadRoles(table, given).roles.has('weight') && !monitors(table))
		return true;
	const { roles } = loadRoles(table, given);
	const loads =
		roles.has('event') || roles.has('emptied') || roles.has('ticket') || (roles.has('gross') && roles.has('tare'));
	const weight = roles.has('weight') || (roles.has('gross') && roles.has('tare'));
	return weight && !monitors(table) && (loads || table.n < 200 || !findPlaces(table, given));
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
