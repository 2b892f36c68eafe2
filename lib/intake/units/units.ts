import type { RawColumn, Role } from '../../formats/index.ts';
import type { Crop } from '../../model/index.ts';
import { ACRE_M2, FOOT_M, HECTARE_M2, INCH_M, MILE_M, POUND_KG } from '../../units/index.ts';
import { plainName } from '../names/roles-by-name.ts';

export type System = 'us' | 'metric';

/** A unit that a column may be in, and its size in the library's own unit. */
export interface Unit {
	name: string;
	/** One unit in kg, s, m, kg/s, kg/ha, m/s, %, degrees or m²; with `bushel`, for a bushel of 1 kg. */
	size: number;
	bushel: boolean;
	/** Country where it is customary; null: anywhere. */
	system: System | null;
	/** How it is written, in lower case and without blanks and power signs; null: never as one word. */
	spelling: RegExp | null;
}

/** Short ton of 2,000 lb: a ton on a US scale ticket. */
const SHORT_TON_KG = 2000 * POUND_KG;
const HA_PER_AC = ACRE_M2 / HECTARE_M2;

const TABLE: readonly [name: string, size: number, system: System | null, spelling: RegExp | null][] = [
	['m', 1, 'metric', /^(m|meters?|metres?|metrs|mtrs?)$/],
	['ft', FOOT_M, 'us', /^(ft|feet|foot|')$/],
	['in', INCH_M, 'us', /^(in|inch|inches|")$/],
	['cm', 0.01, 'metric', /^(cm|centimet(er|re)s?)$/],
	['mm', 0.001, 'metric', /^(mm|millimet(er|re)s?)$/],
	['yd', 3 * FOOT_M, 'us', /^(yds?|yards?)$/],
	['km', 1000, 'metric', /^(km|kilomet(er|re)s?)$/],
	['mi', MILE_M, 'us', /^(mi|miles?)$/],
	['kg', 1, 'metric', /^(kgs?|kilograms?|kilo)$/],
	['lb', POUND_KG, 'us', /^(lbs?|pounds?|#)$/],
	['t', 1000, 'metric', /^(t|tonnes?|mt|metrictons?)$/],
	['bu', 1, 'us', /^(bu|bush|bushels?)$/],
	['dt', 100, 'metric', /^(dt|q|quintals?)$/],
	['g', 0.001, 'metric', /^(g|grams?)$/],
	['ton', SHORT_TON_KG, 'us', /^(short|us)?tons?$/],
	['cwt', 100 * POUND_KG, 'us', /^(cwts?|hundredweights?)$/],
	['kg/s', 1, 'metric', /^(kgs?)(\/|per)?(s|secs?|seconds?)$/],
	['lb/s', POUND_KG, 'us', /^(lbs?|pounds?|#)(\/|per)?(s|secs?|seconds?)$|^lbss$/],
	['t/h', 1000 / 3600, 'metric', /^(t|tonnes?|tons?|mt|metrictons?)(\/|per)(h|hrs?|hours?)$/],
	['bu/h', 1 / 3600, 'us', /^(bu|bush|bushels?)(\/|per)(h|hrs?|hours?)$/],
	['lb/h', POUND_KG / 3600, 'us', /^(lbs?|pounds?)(\/|per)(h|hrs?|hours?)$/],
	['kg/h', 1 / 3600, 'metric', /^(kgs?)(\/|per)(h|hrs?|hours?)$/],
	['lb/min', POUND_KG / 60, 'us', /^(lbs?|pounds?)(\/|per)(min|minutes?)$/],
	['bu/s', 1, 'us', /^(bu|bushels?)(\/|per)(s|secs?)$/],
	['g/s', 0.001, 'metric', /^(g)(\/|per)(s|secs?)$/],
	['mg/s', 1e-6, 'metric', /^(mg)(\/|per)(s|secs?)$/],
	['t/ha', 1000, 'metric', /^(t|tonnes?|mg|mt|metrictons?)(\/|per)?(ha|hectares?)$/],
	['kg/ha', 1, 'metric', /^(kgs?)(\/|per)?(ha|hectares?)$/],
	['bu/ac', 1 / HA_PER_AC, 'us', /^(bu|bush|bushels?)(\/|per)?(acres?|ac|a)$|^bpa$/],
	['lb/ac', POUND_KG / HA_PER_AC, 'us', /^(lbs?|pounds?)(\/|per)?(acres?|ac|a)$/],
	['dt/ha', 100, 'metric', /^(dt|q|qx|quintals?|deciton\w*)(\/|per)?(ha|hectares?)$/],
	['g/m2', 10, 'metric', /^(g)(\/|per)(m2|m²|sqm)$/],
	['kg/m2', 10_000, 'metric', /^(kg)(\/|per)(m2|m²|sqm)$/],
	['t/ac', 1000 / HA_PER_AC, 'us', /^(t|tonnes?)(\/|per)(acres?|ac)$/],
	['ton/ac', SHORT_TON_KG / HA_PER_AC, 'us', /^(short)?tons?(\/|per)(acres?|ac)$/],
	['mg/m2', 0.01, 'metric', /^(mg)(\/|per)(m2|m²|sqm)$/],
	['s', 1, null, /^(s|secs?|seconds?|sek|sekunden)$/],
	['ms', 0.001, null, /^(ms|msecs?|milliseconds?)$/],
	['min', 60, null, /^(mins?|minutes?)$/],
	['h', 3600, null, /^(h|hrs?|hours?)$/],
	['day', 86_400, null, /^(days?|d)$/],
	['m2', 1, 'metric', /^(m2|m²|sqm|squaremet(er|re)s?)$/],
	['ha', 10_000, 'metric', /^(ha|hectares?)$/],
	['ac', 10_000 * HA_PER_AC, 'us', /^(acres?|ac)$/],
	['ft2', FOOT_M ** 2, 'us', /^(ft2|ft²|sqft|squarefeet)$/],
	['%', 1, null, /^(%|pct|percent|prozent|%wb|%wet)$/],
	['fraction', 100, null, /^(ratio|fraction|share)$/],
	['ppm', 1e-4, null, /^(ppm)$/],
	['m/s', 1, 'metric', /^(m|meters?|metres?)(\/|per)(s|secs?|seconds?)$/],
	['km/h', 1 / 3.6, 'metric', /^(kilometers?|kilometres?|km)(\/|per)(h|hrs?|hours?)$|^k[mp]h$|^km h$/],
	['mph', MILE_M / 3600, 'us', /^(miles?|mi)(\/|per)(h|hrs?|hours?)$|^mph?$/],
	['ft/s', FOOT_M, 'us', /^(ft|feet|foot)(\/|per)(s|secs?|seconds?)$|^fps$/],
	['kn', 1852 / 3600, null, /^(kn|kts?|knots?)$/],
	['deg', 1, null, /^(deg|degrees?|°|grad|dg)$/],
	['rad', 180 / Math.PI, null, /^(rad|radians?)$/],
	['1e-7 deg', 1e-7, null, null],
	['kg/hl', 1, 'metric', /^(kg\/hl|kghl)$/],
	['lb/bu', POUND_KG / 0.352_390_7, 'us', /^(lbs?\/bu|lbbu|pounds?\/bu\w*)$/],
	['g/l', 0.1, 'metric', /^(g\/l)$/],
];
const ALL = TABLE.map(
	([name, size, system, spelling]): Unit => ({ name, size, bushel: name.startsWith('bu'), system, spelling }),
);
/** The units of these names, in their order. */
const units = (...names: string[]): Unit[] => names.flatMap((name) => ALL.filter((u) => u.name === name));

const MASSES = units('kg', 'lb', 't', 'bu', 'dt', 'g', 'ton', 'cwt');

/** Units by role, the more likely first. */
export const UNITS: Partial<Record<Role, readonly Unit[]>> = {
	flow: units('kg/s', 'lb/s', 't/h', 'bu/h', 'lb/h', 'kg/h', 'lb/min', 'bu/s', 'g/s', 'mg/s'),
	yield: units('t/ha', 'kg/ha', 'bu/ac', 'lb/ac', 'dt/ha', 'g/m2', 'kg/m2', 't/ac', 'ton/ac', 'mg/m2'),
	mass: MASSES,
	mass_total: MASSES,
	weight: MASSES,
	gross: MASSES,
	tare: MASSES,
	interval: units('s', 'ms', 'min', 'h'),
	time: units('s', 'ms', 'min', 'h', 'day'),
	distance: units('m', 'ft', 'in', 'cm', 'mm', 'yd', 'km', 'mi'),
	swath: units('m', 'ft', 'in', 'cm', 'mm', 'yd'),
	elevation: units('m', 'ft', 'cm', 'mm'),
	x: units('m', 'ft', 'km'),
	area: units('m2', 'ha', 'ac', 'ft2'),
	area_total: units('m2', 'ha', 'ac'),
	moisture: units('%', 'fraction', 'ppm'),
	speed: units('m/s', 'km/h', 'mph', 'ft/s', 'kn'),
	heading: units('deg', 'rad'),
	lat: units('deg', '1e-7 deg'),
	lon: units('deg', '1e-7 deg'),
	test_weight: units('kg/hl', 'lb/bu', 'g/l'),
};

/** Factor for a number in this unit; a bushel needs its crop. */
export const sizeOf = (u: Unit, crop: Crop | null): number => (u.bushel ? u.size * (crop?.bushel_kg ?? 25.4) : u.size);

/** The unit of that spelling for a role, or null. */
export function unitNamed(spelling: string, role: Role): Unit | null {
	const text = spelling
		.toLowerCase()
		.replace(/[\s_().·*^]|-1/g, '')
		.replace(/²/g, '2');
	if (text === '') return null;
	return UNITS[role === 'y' ? 'x' : role]?.find((u) => u.spelling?.test(text)) ?? null;
}

/** The unit in a column's own name, and how certain it is. */
export function unitInName(name: string, role: Role): { unit: Unit; sure: number } | null {
	const { words, brackets } = plainName(name);
	for (const inner of [...brackets].reverse()) {
		// "bu(dry)/ac": brackets may be inside a unit.
		const found = unitNamed(inner, role);
		if (found) return { unit: found, sure: 0.97 };
	}
	const joined = name.toLowerCase().replace(/\((wet|dry)\)/g, '');
	const inside = /[([]([^)\]]+)[)\]]\s*$/.exec(joined)?.[1];
	const fromInside = inside === undefined ? null : unitNamed(inside, role);
	if (fromInside) return { unit: fromInside, sure: 0.97 };
	for (const count of [3, 2, 1]) {
		if (words.length <= count) continue;
		const tail = words.slice(-count);
		const found = unitNamed(count > 1 ? tail.join('/') : tail[0]!, role) ?? unitNamed(tail.join(''), role);
		if (found) return { unit: found, sure: count === 1 && tail[0]!.length === 1 ? 0.8 : 0.93 };
	}
	for (const word of words.slice(1)) {
		const found = word.length > 1 ? unitNamed(word, role) : null;
		if (found) return { unit: found, sure: 0.85 };
	}
	const last = words.at(-1) as string | undefined;
	// A flow in "lbs" and a yield in "lb" leave the rest out.
	if (last !== undefined && words.length > 1 && role === 'flow') {
		if (/^lbs?$/.test(last)) return { unit: UNITS.flow!.find((u) => u.name === 'lb/s')!, sure: 0.85 };
		if (/^kgs?$/.test(last)) return { unit: UNITS.flow!.find((u) => u.name === 'kg/s')!, sure: 0.85 };
	}
	// A shapefile's ten letters cut a unit to its first: "dstnc_f", "Distance_f".
	if (last?.length === 1 && words.length > 1) {
		const found = (UNITS[role] ?? []).filter(
			(u) => u.name.startsWith(last) && /^(m|ft|in|s|kg|lb|kg\/s|lb\/s|mph|km\/h)$/.test(u.name),
		);
		if (found.length > 0 && !(last === 'm' && role === 'speed')) return { unit: found[0]!, sure: 0.6 };
	}
	return null;
}

/** The unit stated by the file or the column's name. */
export function statedUnit(column: RawColumn, role: Role): { unit: Unit; sure: number; by: string } | null {
	if (column.unit !== undefined) {
		const unit = unitNamed(column.unit, role);
		if (unit) return { unit, sure: 0.98, by: `the file says ${column.unit}` };
	}
	const named = unitInName(column.name, role) ?? (column.title === undefined ? null : unitInName(column.title, role));
	return named && { ...named, by: `its name says ${named.unit.name}` };
}

/** Roles whose unit is not asked: it follows from the values. */
const SHOWN_BY_VALUES: ReadonlySet<string> = new Set(['lat', 'lon', 'x', 'time']);

/** Names of the units that a column of each role may be in, the more likely first; without roles whose unit is not asked. */
export const unitNames = (): Partial<Record<Role, string[]>> =>
	Object.fromEntries(
		Object.entries(UNITS).flatMap(([role, list]) =>
			SHOWN_BY_VALUES.has(role) ? [] : [[role, list.map((u) => u.name)] as const],
		),
	);
