import type { Crop } from '../model/index.ts';
import { ACRE_M2, FOOT_M, HECTARE_M2, INCH_M, MILE_M, POUND_KG } from './constants.ts';

/** What a unit measures. */
export type Kind =
	| 'mass'
	| 'time'
	| 'length'
	| 'area'
	| 'mass per time'
	| 'mass per area'
	| 'mass per volume'
	| 'speed'
	| 'share'
	| 'angle';

/** Units in common use in one country. */
export type System = 'us' | 'metric';

/** A unit that a column of a file may be in. */
export interface Unit {
	name: string;
	kind: Kind;
	/** One of it in the library's own unit: kg, s, m, m², kg/s, kg/ha, kg/hl, m/s, %, degrees; with `bushel`, for a bushel of 1 kg. */
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

/** Those of one kind stand in the order in which they are likely. A bushel is the crop's bushel weight of grain at its present moisture. */
const TABLE: readonly [name: string, kind: Kind, size: number, system: System | null, spelling: RegExp | null][] = [
	['m', 'length', 1, 'metric', /^(m|meters?|metres?|metrs|mtrs?)$/],
	['ft', 'length', FOOT_M, 'us', /^(ft|feet|foot|')$/],
	['in', 'length', INCH_M, 'us', /^(in|inch|inches|")$/],
	['cm', 'length', 0.01, 'metric', /^(cm|centimet(er|re)s?)$/],
	['mm', 'length', 0.001, 'metric', /^(mm|millimet(er|re)s?)$/],
	['yd', 'length', 3 * FOOT_M, 'us', /^(yds?|yards?)$/],
	['km', 'length', 1000, 'metric', /^(km|kilomet(er|re)s?)$/],
	['mi', 'length', MILE_M, 'us', /^(mi|miles?)$/],
	['kg', 'mass', 1, 'metric', /^(kgs?|kilograms?|kilo)$/],
	['lb', 'mass', POUND_KG, 'us', /^(lbs?|pounds?|#)$/],
	['t', 'mass', 1000, 'metric', /^(t|tonnes?|mt|metrictons?)$/],
	['bu', 'mass', 1, 'us', /^(bu|bush|bushels?)$/],
	['dt', 'mass', 100, 'metric', /^(dt|q|quintals?)$/],
	['g', 'mass', 0.001, 'metric', /^(g|grams?)$/],
	['ton', 'mass', SHORT_TON_KG, 'us', /^(short|us)?tons?$/],
	['cwt', 'mass', 100 * POUND_KG, 'us', /^(cwts?|hundredweights?)$/],
	['kg/s', 'mass per time', 1, 'metric', /^(kgs?)(\/|per)?(s|secs?|seconds?)$/],
	['lb/s', 'mass per time', POUND_KG, 'us', /^(lbs?|pounds?|#)(\/|per)?(s|secs?|seconds?)$|^lbss$/],
	['t/h', 'mass per time', 1000 / 3600, 'metric', /^(t|tonnes?|tons?|mt|metrictons?)(\/|per)(h|hrs?|hours?)$/],
	['bu/h', 'mass per time', 1 / 3600, 'us', /^(bu|bush|bushels?)(\/|per)(h|hrs?|hours?)$/],
	['lb/h', 'mass per time', POUND_KG / 3600, 'us', /^(lbs?|pounds?)(\/|per)(h|hrs?|hours?)$/],
	['kg/h', 'mass per time', 1 / 3600, 'metric', /^(kgs?)(\/|per)(h|hrs?|hours?)$/],
	['lb/min', 'mass per time', POUND_KG / 60, 'us', /^(lbs?|pounds?)(\/|per)(min|minutes?)$/],
	['bu/s', 'mass per time', 1, 'us', /^(bu|bushels?)(\/|per)(s|secs?)$/],
	['g/s', 'mass per time', 0.001, 'metric', /^(g)(\/|per)(s|secs?)$/],
	['mg/s', 'mass per time', 1e-6, 'metric', /^(mg)(\/|per)(s|secs?)$/],
	['t/ha', 'mass per area', 1000, 'metric', /^(t|tonnes?|mg|mt|metrictons?)(\/|per)?(ha|hectares?)$/],
	['kg/ha', 'mass per area', 1, 'metric', /^(kgs?)(\/|per)?(ha|hectares?)$/],
	['bu/ac', 'mass per area', 1 / HA_PER_AC, 'us', /^(bu|bush|bushels?)(\/|per)?(acres?|ac|a)$|^bpa$/],
	['lb/ac', 'mass per area', POUND_KG / HA_PER_AC, 'us', /^(lbs?|pounds?)(\/|per)?(acres?|ac|a)$/],
	['dt/ha', 'mass per area', 100, 'metric', /^(dt|q|qx|quintals?|deciton\w*)(\/|per)?(ha|hectares?)$/],
	['g/m2', 'mass per area', 10, 'metric', /^(g)(\/|per)(m2|m²|sqm)$/],
	['kg/m2', 'mass per area', 10_000, 'metric', /^(kg)(\/|per)(m2|m²|sqm)$/],
	['t/ac', 'mass per area', 1000 / HA_PER_AC, 'us', /^(t|tonnes?)(\/|per)(acres?|ac)$/],
	['ton/ac', 'mass per area', SHORT_TON_KG / HA_PER_AC, 'us', /^(short)?tons?(\/|per)(acres?|ac)$/],
	['mg/m2', 'mass per area', 0.01, 'metric', /^(mg)(\/|per)(m2|m²|sqm)$/],
	['s', 'time', 1, null, /^(s|secs?|seconds?|sek|sekunden)$/],
	['ms', 'time', 0.001, null, /^(ms|msecs?|milliseconds?)$/],
	['min', 'time', 60, null, /^(mins?|minutes?)$/],
	['h', 'time', 3600, null, /^(h|hrs?|hours?)$/],
	['day', 'time', 86_400, null, /^(days?|d)$/],
	['m2', 'area', 1, 'metric', /^(m2|m²|sqm|squaremet(er|re)s?)$/],
	['ha', 'area', 10_000, 'metric', /^(ha|hectares?)$/],
	['ac', 'area', 10_000 * HA_PER_AC, 'us', /^(acres?|ac)$/],
	['ft2', 'area', FOOT_M ** 2, 'us', /^(ft2|ft²|sqft|squarefeet)$/],
	['%', 'share', 1, null, /^(%|pct|percent|prozent|%wb|%wet)$/],
	['fraction', 'share', 100, null, /^(ratio|fraction|share)$/],
	['ppm', 'share', 1e-4, null, /^(ppm)$/],
	['m/s', 'speed', 1, 'metric', /^(m|meters?|metres?)(\/|per)(s|secs?|seconds?)$/],
	['km/h', 'speed', 1 / 3.6, 'metric', /^(kilometers?|kilometres?|km)(\/|per)(h|hrs?|hours?)$|^k[mp]h$|^km h$/],
	['mph', 'speed', MILE_M / 3600, 'us', /^(miles?|mi)(\/|per)(h|hrs?|hours?)$|^mph?$/],
	['ft/s', 'speed', FOOT_M, 'us', /^(ft|feet|foot)(\/|per)(s|secs?|seconds?)$|^fps$/],
	['kn', 'speed', 1852 / 3600, null, /^(kn|kts?|knots?)$/],
	['deg', 'angle', 1, null, /^(deg|degrees?|°|grad|dg)$/],
	['rad', 'angle', 180 / Math.PI, null, /^(rad|radians?)$/],
	['1e-7 deg', 'angle', 1e-7, null, null],
	['kg/hl', 'mass per volume', 1, 'metric', /^(kg\/hl|kghl)$/],
	['lb/bu', 'mass per volume', POUND_KG / 0.352_390_7, 'us', /^(lbs?\/bu|lbbu|pounds?\/bu\w*)$/],
	['g/l', 'mass per volume', 0.1, 'metric', /^(g\/l)$/],
];
/** Every unit that a column may be in, a mapping may name, or a table's header may state. */
export const UNITS = TABLE.map(
	([name, kind, size, system, spelling]): Unit => ({
		name,
		kind,
		size,
		bushel: name.startsWith('bu'),
		system,
		spelling,
	}),
);

/** The units of one kind, the more likely first. */
export const unitsOf = (kind: Kind): Unit[] => UNITS.filter((u) => u.kind === kind);

/** The size of a unit; a bushel's is its crop's. */
export const sizeOf = (u: Unit, crop: Crop | null): number => (u.bushel ? u.size * (crop?.bushel_kg ?? 25.4) : u.size);

/** Factor from `unit` to the library's own unit of that kind (see `Unit.size`); null where `unit` is not of that kind. */
export function unitFactor(unit: string, kind: Kind, crop: Crop): number | null {
	const found = UNITS.find((u) => u.name === unit && u.kind === kind);
	return found ? sizeOf(found, crop) : null;
}

/** Kilograms to pounds. */
export const lbFromKg = (kg: number): number => kg / POUND_KG;
/** Hectares to acres. */
export const acFromHa = (ha: number): number => ha / HA_PER_AC;
