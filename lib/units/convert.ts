import type { Crop } from '../model/index.ts';
import { ACRE_M2, FOOT_M, HECTARE_M2, INCH_M, MILE_M, POUND_KG } from './constants.ts';

/** What a unit measures. */
export type Kind = 'mass' | 'time' | 'length' | 'mass per time' | 'mass per area' | 'speed' | 'share' | 'angle';

interface Unit {
	kind: Kind;
	/** One of it in the library's own unit: kg, s, m, kg/s, kg/ha, m/s, %, degree. `null`: one bushel in kg. */
	size: number | null;
	/** For units of bushels: multiplier after bushels become kg. */
	perBushel?: number;
}

const HA_PER_ACRE = ACRE_M2 / HECTARE_M2;

/** Every unit that a mapping may name. A bushel is the crop's bushel weight of grain at its present moisture. */
const UNITS: ReadonlyMap<string, Unit> = new Map<string, Unit>([
	['kg', { kind: 'mass', size: 1 }],
	['t', { kind: 'mass', size: 1000 }],
	['lb', { kind: 'mass', size: POUND_KG }],
	['bu', { kind: 'mass', size: null, perBushel: 1 }],
	['s', { kind: 'time', size: 1 }],
	['min', { kind: 'time', size: 60 }],
	['h', { kind: 'time', size: 3600 }],
	['m', { kind: 'length', size: 1 }],
	['km', { kind: 'length', size: 1000 }],
	['ft', { kind: 'length', size: FOOT_M }],
	['in', { kind: 'length', size: INCH_M }],
	['mi', { kind: 'length', size: MILE_M }],
	['kg/s', { kind: 'mass per time', size: 1 }],
	['lb/s', { kind: 'mass per time', size: POUND_KG }],
	['t/h', { kind: 'mass per time', size: 1000 / 3600 }],
	['bu/h', { kind: 'mass per time', size: null, perBushel: 1 / 3600 }],
	['kg/ha', { kind: 'mass per area', size: 1 }],
	['t/ha', { kind: 'mass per area', size: 1000 }],
	['lb/ac', { kind: 'mass per area', size: POUND_KG / HA_PER_ACRE }],
	['bu/ac', { kind: 'mass per area', size: null, perBushel: 1 / HA_PER_ACRE }],
	['m/s', { kind: 'speed', size: 1 }],
	['km/h', { kind: 'speed', size: 1 / 3.6 }],
	['mph', { kind: 'speed', size: MILE_M / 3600 }],
	['%', { kind: 'share', size: 1 }],
	// The units of ISO 11783-11's data entries (84 mass per area, 87 mass per time, 99 moisture).
	['mg/s', { kind: 'mass per time', size: 1e-6 }],
	['mg/m2', { kind: 'mass per area', size: 0.01 }],
	['ppm', { kind: 'share', size: 1e-4 }],
	['deg', { kind: 'angle', size: 1 }],
]);

/** The units of one kind, in the order in which they are listed for the user. */
export function unitsOf(kind: Kind): string[] {
	return [...UNITS].filter(([, u]) => u.kind === kind).map(([name]) => name);
}

/**
 * Factor from `unit` to the library's own unit of that kind (kg, s, m, kg/s, kg/ha, m/s, %, degrees); null where
 * `unit` is not of that kind.
 */
export function unitFactor(unit: string, kind: Kind, crop: Crop): number | null {
	const found = UNITS.get(unit);
	if (found === undefined || found.kind !== kind) return null;
	return found.size ?? crop.bushel_kg * found.perBushel!;
}

/** Kilograms to pounds. */
export const lbFromKg = (kg: number): number => kg / POUND_KG;
/** Hectares to acres. */
export const acFromHa = (ha: number): number => ha / HA_PER_ACRE;
