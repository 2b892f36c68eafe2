import type { Role } from '../formats/index.ts';
import type { Crop } from '../model/index.ts';
import { FOOT_M, POUND_KG, unitFactor } from '../units/index.ts';
import { plainName } from './names/match.ts';

export type System = 'us' | 'metric';

/** A unit that a column may be in, and its size in the library's own unit. */
export interface Unit {
	name: string;
	/** One unit in kg, s, m, kg/s, kg/ha, m/s, %, degrees or m²; with `bushel`, for a bushel of 1 kg. */
	size: number;
	bushel?: boolean;
	/** Country where it is customary; null: anywhere. */
	system: System | null;
}

const unit = (name: string, size: number, system: System | null, bushel = false): Unit =>
	bushel ? { name, size, system, bushel } : { name, size, system };
const own = (name: string, kind: Parameters<typeof unitFactor>[1], system: System | null): Unit => {
	const one = { name: '', bushel_kg: 1, market_moisture_pct: 0 };
	return unit(name, unitFactor(name, kind, one) as number, system, name.startsWith('bu'));
};

const LENGTHS = [
	own('m', 'length', 'metric'),
	own('ft', 'length', 'us'),
	own('in', 'length', 'us'),
	unit('cm', 0.01, 'metric'),
	unit('mm', 0.001, 'metric'),
	unit('yd', 3 * FOOT_M, 'us'),
	own('km', 'length', 'metric'),
	own('mi', 'length', 'us'),
];
/** Short ton of 2,000 lb: a ton on a US scale ticket. */
const SHORT_TON_KG = 2000 * POUND_KG;
const MASSES = [
	own('kg', 'mass', 'metric'),
	own('lb', 'mass', 'us'),
	own('t', 'mass', 'metric'),
	own('bu', 'mass', 'us'),
	unit('dt', 100, 'metric'),
	unit('g', 0.001, 'metric'),
	unit('ton', SHORT_TON_KG, 'us'),
	unit('cwt', 100 * POUND_KG, 'us'),
];
const HA_PER_AC = 0.404_685_642_24;

/** Units by role, the more likely first. */
export const UNITS: Partial<Record<Role, readonly Unit[]>> = {
	flow: [
		own('kg/s', 'mass per time', 'metric'),
		own('lb/s', 'mass per time', 'us'),
		own('t/h', 'mass per time', 'metric'),
		own('bu/h', 'mass per time', 'us'),
		unit('lb/h', POUND_KG / 3600, 'us'),
		unit('kg/h', 1 / 3600, 'metric'),
		unit('lb/min', POUND_KG / 60, 'us'),
		unit('bu/s', 1, 'us', true),
		unit('g/s', 0.001, 'metric'),
		own('mg/s', 'mass per time', 'metric'),
	],
	yield: [
		own('t/ha', 'mass per area', 'metric'),
		own('kg/ha', 'mass per area', 'metric'),
		own('bu/ac', 'mass per area', 'us'),
		own('lb/ac', 'mass per area', 'us'),
		unit('dt/ha', 100, 'metric'),
		unit('g/m2', 10, 'metric'),
		unit('kg/m2', 10_000, 'metric'),
		unit('t/ac', 1000 / HA_PER_AC, 'us'),
		unit('ton/ac', SHORT_TON_KG / HA_PER_AC, 'us'),
		own('mg/m2', 'mass per area', 'metric'),
	],
	mass: MASSES,
	mass_total: MASSES,
	weight: MASSES,
	gross: MASSES,
	tare: MASSES,
	interval: [own('s', 'time', null), unit('ms', 0.001, null), own('min', 'time', null), own('h', 'time', null)],
	time: [
		own('s', 'time', null),
		unit('ms', 0.001, null),
		own('min', 'time', null),
		own('h', 'time', null),
		unit('day', 86_400, null),
	],
	distance: LENGTHS,
	swath: LENGTHS.filter((u) => !['km', 'mi'].includes(u.name)),
	elevation: LENGTHS.filter((u) => ['m', 'ft', 'cm', 'mm'].includes(u.name)),
	x: LENGTHS.filter((u) => ['m', 'ft', 'km'].includes(u.name)),
	area: [
		unit('m2', 1, 'metric'),
		unit('ha', 10_000, 'metric'),
		unit('ac', 10_000 * HA_PER_AC, 'us'),
		unit('ft2', FOOT_M ** 2, 'us'),
	],
	area_total: [unit('m2', 1, 'metric'), unit('ha', 10_000, 'metric'), unit('ac', 10_000 * HA_PER_AC, 'us')],
	moisture: [own('%', 'share', null), unit('fraction', 100, null), own('ppm', 'share', null)],
	speed: [
		own('m/s', 'speed', 'metric'),
		own('km/h', 'speed', 'metric'),
		own('mph', 'speed', 'us'),
		unit('ft/s', FOOT_M, 'us'),
		unit('kn', 1852 / 3600, null),
	],
	heading: [own('deg', 'angle', null), unit('rad', 180 / Math.PI, null)],
	lat: [own('deg', 'angle', null), unit('1e-7 deg', 1e-7, null)],
	lon: [own('deg', 'angle', null), unit('1e-7 deg', 1e-7, null)],
	test_weight: [unit('kg/hl', 1, 'metric'), unit('lb/bu', POUND_KG / 0.352_390_7, 'us'), unit('g/l', 0.1, 'metric')],
};

/** Factor for a number in this unit; a bushel needs its crop. */
export const sizeOf = (u: Unit, crop: Crop | null): number => (u.bushel ? u.size * (crop?.bushel_kg ?? 25.4) : u.size);

/** Spellings of units, in lower case and without blanks and power signs. */
const SPELLINGS: readonly [RegExp, string][] = [
	[/^(lbs?|pounds?|#)(\/|per)?(s|secs?|seconds?)$|^lbss$/, 'lb/s'],
	[/^(kgs?)(\/|per)?(s|secs?|seconds?)$/, 'kg/s'],
	[/^(g)(\/|per)(s|secs?)$/, 'g/s'],
	[/^(mg)(\/|per)(s|secs?)$/, 'mg/s'],
	[/^(mg)(\/|per)(m2|m²|sqm)$/, 'mg/m2'],
	[/^(t|tonnes?|tons?|mt|metrictons?)(\/|per)(h|hrs?|hours?)$/, 't/h'],
	[/^(kgs?)(\/|per)(h|hrs?|hours?)$/, 'kg/h'],
	[/^(lbs?|pounds?)(\/|per)(h|hrs?|hours?)$/, 'lb/h'],
	[/^(lbs?|pounds?)(\/|per)(min|minutes?)$/, 'lb/min'],
	[/^(bu|bush|bushels?)(\/|per)(h|hrs?|hours?)$/, 'bu/h'],
	[/^(bu|bushels?)(\/|per)(s|secs?)$/, 'bu/s'],
	[/^(t|tonnes?|mg|mt|metrictons?)(\/|per)?(ha|hectares?)$/, 't/ha'],
	[/^(kgs?)(\/|per)?(ha|hectares?)$/, 'kg/ha'],
	[/^(dt|q|qx|quintals?|deciton\w*)(\/|per)?(ha|hectares?)$/, 'dt/ha'],
	[/^(g)(\/|per)(m2|m²|sqm)$/, 'g/m2'],
	[/^(kg)(\/|per)(m2|m²|sqm)$/, 'kg/m2'],
	[/^(bu|bush|bushels?)(\/|per)?(acres?|ac|a)$|^bpa$/, 'bu/ac'],
	[/^(lbs?|pounds?)(\/|per)?(acres?|ac|a)$/, 'lb/ac'],
	[/^(t|tonnes?)(\/|per)(acres?|ac)$/, 't/ac'],
	[/^(short)?tons?(\/|per)(acres?|ac)$/, 'ton/ac'],
	[/^(kilometers?|kilometres?|km)(\/|per)(h|hrs?|hours?)$|^k[mp]h$|^km h$/, 'km/h'],
	[/^(miles?|mi)(\/|per)(h|hrs?|hours?)$|^mph?$/, 'mph'],
	[/^(m|meters?|metres?)(\/|per)(s|secs?|seconds?)$/, 'm/s'],
	[/^(ft|feet|foot)(\/|per)(s|secs?|seconds?)$|^fps$/, 'ft/s'],
	[/^(kn|kts?|knots?)$/, 'kn'],
	[/^(lbs?|pounds?|#)$/, 'lb'],
	[/^(kgs?|kilograms?|kilo)$/, 'kg'],
	[/^(t|tonnes?|mt|metrictons?)$/, 't'],
	[/^(short|us)?tons?$/, 'ton'],
	[/^(cwts?|hundredweights?)$/, 'cwt'],
	[/^(bu|bush|bushels?)$/, 'bu'],
	[/^(dt|q|quintals?)$/, 'dt'],
	[/^(g|grams?)$/, 'g'],
	[/^(s|secs?|seconds?|sek|sekunden)$/, 's'],
	[/^(ms|msecs?|milliseconds?)$/, 'ms'],
	[/^(mins?|minutes?)$/, 'min'],
	[/^(h|hrs?|hours?)$/, 'h'],
	[/^(days?|d)$/, 'day'],
	[/^(m|meters?|metres?|metrs|mtrs?)$/, 'm'],
	[/^(cm|centimet(er|re)s?)$/, 'cm'],
	[/^(mm|millimet(er|re)s?)$/, 'mm'],
	[/^(km|kilomet(er|re)s?)$/, 'km'],
	[/^(ft|feet|foot|')$/, 'ft'],
	[/^(in|inch|inches|")$/, 'in'],
	[/^(yds?|yards?)$/, 'yd'],
	[/^(mi|miles?)$/, 'mi'],
	[/^(%|pct|percent|prozent|%wb|%wet)$/, '%'],
	[/^(ppm)$/, 'ppm'],
	[/^(ratio|fraction|share)$/, 'fraction'],
	[/^(deg|degrees?|°|grad|dg)$/, 'deg'],
	[/^(rad|radians?)$/, 'rad'],
	[/^(acres?|ac)$/, 'ac'],
	[/^(ha|hectares?)$/, 'ha'],
	[/^(m2|m²|sqm|squaremet(er|re)s?)$/, 'm2'],
	[/^(ft2|ft²|sqft|squarefeet)$/, 'ft2'],
	[/^(kg\/hl|kghl)$/, 'kg/hl'],
	[/^(lbs?\/bu|lbbu|pounds?\/bu\w*)$/, 'lb/bu'],
	[/^(g\/l)$/, 'g/l'],
];

/** The unit of that spelling for a role, or null. */
export function unitNamed(spelling: string, role: Role): Unit | null {
	const text = spelling
		.toLowerCase()
		.replace(/[\s_().·*^]|-1/g, '')
		.replace(/²/g, '2');
	if (text === '') return null;
	const units = UNITS[role === 'y' ? 'x' : role];
	for (const [pattern, name] of SPELLINGS) {
		if (!pattern.test(text)) continue;
		const found = units?.find((u) => u.name === name);
		if (found) return found;
	}
	return null;
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
		const found = unitNamed(count > 1 ? tail.join('/') : (tail[0] as string), role) ?? unitNamed(tail.join(''), role);
		if (found) return { unit: found, sure: count === 1 && (tail[0] as string).length === 1 ? 0.8 : 0.93 };
	}
	for (const word of words.slice(1)) {
		const found = word.length > 1 ? unitNamed(word, role) : null;
		if (found) return { unit: found, sure: 0.85 };
	}
	const last = words.at(-1) as string | undefined;
	// A flow in "lbs" and a yield in "lb" leave the rest out.
	if (last !== undefined && words.length > 1 && role === 'flow') {
		if (/^lbs?$/.test(last)) return { unit: UNITS.flow?.find((u) => u.name === 'lb/s') as Unit, sure: 0.85 };
		if (/^kgs?$/.test(last)) return { unit: UNITS.flow?.find((u) => u.name === 'kg/s') as Unit, sure: 0.85 };
	}
	// A shapefile's ten letters cut a unit to its first: "dstnc_f", "Distance_f".
	if (last?.length === 1 && words.length > 1) {
		const found = (UNITS[role] ?? []).filter(
			(u) => u.name.startsWith(last) && /^(m|ft|in|s|kg|lb|kg\/s|lb\/s|mph|km\/h)$/.test(u.name),
		);
		if (found.length > 0 && !(last === 'm' && role === 'speed')) return { unit: found[0] as Unit, sure: 0.6 };
	}
	return null;
}

/** Names of the units that a role may be in, the more likely first; empty if it has none. */
export const unitNames = (role: Role): string[] => (UNITS[role] ?? []).map((u) => u.name);
