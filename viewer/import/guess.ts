/** What an unknown table may be, and what its columns may hold: guesses from names and values, for the user to mend. */
import type { ColumnPlan } from '../../lib/model/index.ts';

export type Role = 'log' | 'cart' | 'tickets' | 'boundary' | 'unused';

/** A column's meaning in a log: the keys of the contract's mapping. */
export const meanings = [
	'time',
	'lat',
	'lon',
	'flow',
	'yield',
	'interval',
	'distance',
	'swath',
	'moisture',
	'combine',
	'header',
	'auger',
	'speed',
	'heading',
	'elevation',
	'variety',
	'load',
] as const;
export type Meaning = (typeof meanings)[number];

/** Units that a meaning may come in; the first is taken where nothing is said. */
export const unitsFor: Partial<Record<Meaning, string[]>> = {
	flow: ['kg/s', 'lb/s', 't/h', 'bu/h'],
	yield: ['kg/ha', 't/ha', 'lb/ac', 'bu/ac'],
	interval: ['s', 'min', 'h'],
	distance: ['m', 'ft', 'in', 'km', 'mi'],
	swath: ['m', 'ft', 'in'],
	moisture: ['%'],
	speed: ['m/s', 'km/h', 'mph'],
	elevation: ['m', 'ft'],
};

/** Words by which a column of that meaning is usually called, best first. */
const words: Record<Meaning, RegExp[]> = {
	time: [/^(time|date ?time|timestamp|utc|gps ?time)$/, /time|date/],
	lat: [/^(lat|latitude|y)$/, /^lat/],
	lon: [/^(lon|long|lng|longitude|x)$/, /^(lon|lng)/],
	flow: [/flow/, /^(mass|grain mass)$/],
	yield: [/yield|yld/],
	interval: [/^(interval|seconds|cycles|duration|dt|logging interval)/, /interval|cycle/],
	distance: [/^(distance|dist)/, /distance|dist|travel/],
	swath: [/^(swath|width)/, /swath|width|cut/],
	moisture: [/^moist/, /moist|h2o|water/],
	combine: [/^(combine|machine|vehicle|harvester)/],
	header: [/^header/, /head.*(down|up|status|position)/],
	auger: [/auger|unload/],
	speed: [/speed|velocity/],
	heading: [/heading|track|course|bearing/],
	elevation: [/elev|alt|height/],
	variety: [/variet|hybrid|cultivar/],
	load: [/^load/],
};

/** The contract's own column names. */
const own: Record<string, Meaning> = {
	time: 'time',
	lat: 'lat',
	lon: 'lon',
	flow_kg_s: 'flow',
	interval_s: 'interval',
	distance_m: 'distance',
	swath_m: 'swath',
	moisture_pct: 'moisture',
	combine: 'combine',
	header_down: 'header',
	auger_on: 'auger',
	speed_m_s: 'speed',
	heading_deg: 'heading',
	elevation_m: 'elevation',
	variety: 'variety',
	load: 'load',
};

export interface Table {
	columns: string[];
	rows: string[][];
}

const plain = (name: string) =>
	name
		.toLowerCase()
		.replace(/\(.*?\)|\[.*?\]/g, ' ')
		.replace(/[_\-./]+/g, ' ')
		.replace(/\s+/g, ' ')
		.trim();

/** Finite numbers of a column. */
function valuesOf(table: Table, column: number): number[] {
	return table.rows.map((r) => Number(r[column]?.trim() || Number.NaN)).filter(Number.isFinite);
}

const median = (values: number[]): number => [...values].sort((a, b) => a - b)[values.length >> 1] ?? Number.NaN;

export function guessRole(name: string, table: Table | null): Role {
	if (/\.(geo)?json$/i.test(name)) return /field\.json$/i.test(name) ? 'unused' : 'boundary';
	if (!table) return 'unused';
	const names = table.columns.map(plain);
	const has = (pattern: RegExp) => names.some((n) => pattern.test(n));
	if (has(/^ticket/) || (has(/gross/) && has(/tare/))) return 'tickets';
	if (has(/^event$/) || (has(/weight/) && !has(/^lat/))) return 'cart';
	if (has(/^(lat|y$)/) && has(/^(lon|lng|x$)/)) return 'log';
	return 'unused';
}

/** Which column holds what. Names speak first; values then rule out what cannot be. */
export function guessColumns(table: Table): Partial<Record<Meaning, ColumnPlan>> {
	const out: Partial<Record<Meaning, ColumnPlan>> = {};
	const taken = new Set<number>();
	const take = (meaning: Meaning, column: number, unit: string | null) => {
		taken.add(column);
		out[meaning] = { column: table.columns[column]!, ...(unit ? { unit } : {}) };
	};
	table.columns.forEach((name, i) => {
		const meaning = own[name.trim()];
		if (meaning && !out[meaning]) take(meaning, i, unitsFor[meaning]?.[0] ?? null);
	});
	for (const level of [0, 1]) {
		for (const meaning of meanings) {
			const pattern = words[meaning][level];
			if (out[meaning] || !pattern) continue;
			const column = table.columns.findIndex(
				(n, i) => !taken.has(i) && pattern.test(plain(n)) && possible(meaning, table, i),
			);
			if (column >= 0) take(meaning, column, guessUnit(meaning, table, column));
		}
	}
	// Flow and yield say the same; flow is nearer to the sensor.
	if (out.flow && out.yield) delete out.yield;
	const time = out.time?.column;
	if (time !== undefined) {
		const values = valuesOf(table, table.columns.indexOf(time));
		// Seconds since 1970, or seconds of something that only the user knows.
		if (values.length > table.rows.length / 2)
			out.time = { column: time, unit: 's', since: median(values) > 5e8 ? '1970-01-01T00:00:00Z' : '' };
	}
	return out;
}

function possible(meaning: Meaning, table: Table, column: number): boolean {
	if (meaning === 'time' || meaning === 'combine' || meaning === 'variety' || meaning === 'load') return true;
	const values = valuesOf(table, column);
	if (values.length < table.rows.length / 3) return meaning === 'header' || meaning === 'auger';
	const m = median(values);
	if (meaning === 'lat') return Math.abs(m) <= 90;
	if (meaning === 'lon') return Math.abs(m) <= 180;
	if (meaning === 'moisture') return m > 0 && m < 60;
	return true;
}

/** The unit in the name, or else the one in which the values are likely. */
export function guessUnit(meaning: Meaning, table: Table, column: number): string | null {
	const units = unitsFor[meaning];
	if (!units) return null;
	const name = table.columns[column]!.toLowerCase();
	const said: [RegExp, string][] = [
		[/kg\/s|kg_s|kg s/, 'kg/s'],
		[/lbs?\/s|lb_s/, 'lb/s'],
		[/t\/h|t_h/, 't/h'],
		[/bu\/h/, 'bu/h'],
		[/kg\/ha|kg_ha/, 'kg/ha'],
		[/t\/ha|t_ha/, 't/ha'],
		[/lbs?\/ac/, 'lb/ac'],
		[/bu\/ac|bu_ac/, 'bu/ac'],
		[/km\/h|kmh|kph/, 'km/h'],
		[/mph/, 'mph'],
		[/m\/s|m_s/, 'm/s'],
		[/\(ft\)|_ft\b|feet|\bft\b/, 'ft'],
		[/\(in\)|_in\b|inch/, 'in'],
		[/\(m\)|_m\b|met(er|re)/, 'm'],
		[/\(s\)|_s\b|sec/, 's'],
	];
	for (const [pattern, unit] of said) if (pattern.test(name) && units.includes(unit)) return unit;
	const m = median(valuesOf(table, column).filter((v) => v !== 0));
	const likely: Partial<Record<Meaning, [number, string][]>> = {
		// A header is 4 to 15 m wide: 13 to 50 ft, 150 to 600 in.
		swath: [
			[17, 'm'],
			[60, 'ft'],
			[Number.POSITIVE_INFINITY, 'in'],
		],
		// A second at walking to trotting pace: 1 to 3 m, 3 to 10 ft, 40 to 120 in.
		distance: [
			[4, 'm'],
			[14, 'ft'],
			[Number.POSITIVE_INFINITY, 'in'],
		],
		flow: [
			[24, 'kg/s'],
			[Number.POSITIVE_INFINITY, 'lb/s'],
		],
		yield: [
			[25, 't/ha'],
			[400, 'bu/ac'],
			[Number.POSITIVE_INFINITY, 'kg/ha'],
		],
		speed: [
			[3, 'm/s'],
			[6, 'mph'],
			[Number.POSITIVE_INFINITY, 'km/h'],
		],
	};
	return likely[meaning]?.find(([most]) => m < most)?.[1] ?? units[0]!;
}
