import { type Crop, remembered } from '../model/index.ts';
import { ACRE_M2, BUSHEL_L, FOOT_M, HECTARE_M2, MILE_M, POUND_KG } from './constants.ts';

/** The two ways in which quantities are shown. */
export type UnitSystem = 'us' | 'metric';

/**
 * Quantities shown to people. Values come in the library's own units: yield kg/ha, mass and grain kg, area ha, speed m/s, length
 * and distance m, flow kg/s, throughput kg/s, rate ha/s, moisture %, testWeight kg/hl. `mass` is a scale's weight
 * (lb or kg), `grain` the same as it is traded (bu or t).
 */
export type Quantity =
	| 'yield'
	| 'mass'
	| 'grain'
	| 'area'
	| 'speed'
	| 'length'
	| 'distance'
	| 'flow'
	| 'throughput'
	| 'moisture'
	| 'testWeight';

/** A unit as shown: its symbol, the factor from the library's unit, and the digits after the point. */
export interface Shown {
	unit: string;
	factor: number;
	digits: number;
}

const METRIC: Record<Quantity, Shown> = {
	yield: { unit: 't/ha', factor: 0.001, digits: 2 },
	mass: { unit: 'kg', factor: 1, digits: 0 },
	grain: { unit: 't', factor: 0.001, digits: 2 },
	area: { unit: 'ha', factor: 1, digits: 2 },
	speed: { unit: 'km/h', factor: 3.6, digits: 1 },
	length: { unit: 'm', factor: 1, digits: 1 },
	distance: { unit: 'km', factor: 0.001, digits: 2 },
	flow: { unit: 'kg/s', factor: 1, digits: 1 },
	throughput: { unit: 't/h', factor: 3.6, digits: 1 },
	moisture: { unit: '%', factor: 1, digits: 1 },
	testWeight: { unit: 'kg/hl', factor: 1, digits: 1 },
};

const US: Omit<Record<Quantity, Shown>, 'yield' | 'grain' | 'throughput'> = {
	mass: { unit: 'lb', factor: 1 / POUND_KG, digits: 0 },
	area: { unit: 'ac', factor: HECTARE_M2 / ACRE_M2, digits: 2 },
	speed: { unit: 'mph', factor: 3600 / MILE_M, digits: 1 },
	length: { unit: 'ft', factor: 1 / FOOT_M, digits: 1 },
	distance: { unit: 'mi', factor: 1 / MILE_M, digits: 2 },
	flow: { unit: 'lb/s', factor: 1 / POUND_KG, digits: 1 },
	moisture: METRIC.moisture,
	testWeight: { unit: 'lb/bu', factor: BUSHEL_L / 100 / POUND_KG, digits: 1 },
};

/** The unit of a quantity in a system; bushels are the crop's. */
export function shown(quantity: Quantity, system: UnitSystem, crop: Crop): Shown {
	if (system === 'metric') return METRIC[quantity];
	if (quantity === 'yield') return { unit: 'bu/ac', factor: ACRE_M2 / HECTARE_M2 / crop.bushel_kg, digits: 1 };
	if (quantity === 'grain') return { unit: 'bu', factor: 1 / crop.bushel_kg, digits: 0 };
	if (quantity === 'throughput') return { unit: 'bu/hr', factor: 3600 / crop.bushel_kg, digits: 0 };
	return US[quantity];
}

/** Converts a value from the library's own unit to the unit shown. */
export function toShown(value: number, quantity: Quantity, system: UnitSystem, crop: Crop): number {
	return value * shown(quantity, system, crop).factor;
}

const formatters = new Map<number, Intl.NumberFormat>();

/** A number as text: fixed digits (−2 rounds to hundreds), commas between thousands, a true minus sign; a dash for a missing number. */
export function formatNumber(value: number | null | undefined, digits: number): string {
	if (value === null || value === undefined || !Number.isFinite(value)) return '–';
	const fraction = Math.max(0, digits);
	const options = { minimumFractionDigits: fraction, maximumFractionDigits: fraction };
	const format = remembered(formatters, digits, () => new Intl.NumberFormat('en-US', options));
	const step = digits < 0 ? 10 ** -digits : 0;
	const text = format.format(step > 0 ? Math.round(value / step) * step : value);
	if (!text.startsWith('-')) return text;
	// A number that rounds to zero has no sign.
	return /[1-9]/.test(text) ? `−${text.slice(1)}` : text.slice(1);
}

/** A value of the library's own unit as text with its unit: "182.3 bu/ac"; `digits` replaces the usual number of digits. */
export function formatQuantity(
	value: number | null | undefined,
	quantity: Quantity,
	system: UnitSystem,
	crop: Crop,
	digits?: number,
): string {
	const s = shown(quantity, system, crop);
	if (value === null || value === undefined || !Number.isFinite(value)) return '–';
	return `${formatNumber(value * s.factor, digits ?? s.digits)}${s.unit === '%' ? '' : ' '}${s.unit}`;
}

/** A number with its sign: "+1.2", "−0.4", "0.0". */
export function formatSigned(value: number | null | undefined, digits: number): string {
	const text = formatNumber(value, digits);
	return value !== null && value !== undefined && value > 0 && /[1-9]/.test(text) ? `+${text}` : text;
}

/**
 * A rounded weight in both unit systems: "22,800 lb (10,350 kg)". Texts with such weights are passed through
 * `inOneSystem` before a person reads them.
 */
export function massInBoth(kg: number): string {
	const step = Math.abs(kg) >= 1000 ? 50 : 10;
	const lb = Math.round(kg / POUND_KG / (2 * step)) * 2 * step;
	return `${thousands(lb)} lb (${thousands(Math.round(kg / step) * step)} kg)`;
}

/** A length in both unit systems: "15.1 ft (4.6 m)". */
export const lengthInBoth = (length_m: number): string =>
	`${(length_m / FOOT_M).toFixed(1)} ft (${length_m.toFixed(1)} m)`;

/** A flow in both unit systems: "33.1 lb/s (15.0 kg/s)". */
export const flowInBoth = (flow_kg_s: number): string =>
	`${(flow_kg_s / POUND_KG).toFixed(1)} lb/s (${flow_kg_s.toFixed(1)} kg/s)`;

/** Text with one unit system only: of "22,800 lb (10,350 kg)" one half is kept. */
export function inOneSystem(text: string, system: UnitSystem): string {
	return text.replace(
		/(−?[\d,.]+ (?:lb|ft|ac|lb\/s|mph|bu\/ac|lb\/ac)) \((−?[\d,.]+ (?:kg|m|ha|kg\/s|km\/h|t\/ha))\)/g,
		system === 'us' ? '$1' : '$2',
	);
}

/** Digits in groups of three, independent of locale, so that the bytes are the same everywhere. */
function thousands(n: number): string {
	return String(Math.abs(n))
		.replace(/\B(?=(\d{3})+$)/g, ',')
		.replace(/^/, n < 0 ? '−' : '');
}
