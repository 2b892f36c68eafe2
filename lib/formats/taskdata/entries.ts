/** The data entries of ISO 11783-11 that a harvest needs, as defined in its data dictionary (isobus.net). */
import type { Role } from '../raw-table.ts';

export interface Entry {
	name: string;
	/** One count of the log in `unit`. */
	resolution: number;
	unit?: string;
	as?: Role;
	basis?: 'wet' | 'dry';
}

const MM = 0.001;

export const ENTRIES: Readonly<Record<number, Entry>> = {
	67: { name: 'Actual working width', resolution: MM, unit: 'm', as: 'swath' },
	75: { name: 'Actual mass content', resolution: 0.001, unit: 'kg' },
	83: { name: 'Volume per area yield', resolution: 1, unit: 'ml/m2' },
	84: { name: 'Mass per area yield', resolution: 1, unit: 'mg/m2', as: 'yield', basis: 'wet' },
	86: { name: 'Volume per time yield', resolution: 1, unit: 'ml/s' },
	87: { name: 'Mass per time yield', resolution: 1, unit: 'mg/s', as: 'flow', basis: 'wet' },
	89: { name: 'Yield total volume', resolution: 1, unit: 'L' },
	90: { name: 'Yield total mass', resolution: 1, unit: 'kg', as: 'mass_total', basis: 'wet' },
	99: { name: 'Crop moisture', resolution: 1, unit: 'ppm', as: 'moisture' },
	100: { name: 'Crop contamination', resolution: 1, unit: 'ppm' },
	116: { name: 'Total area', resolution: 1, unit: 'm2', as: 'area_total' },
	117: { name: 'Effective total distance', resolution: MM, unit: 'm' },
	118: { name: 'Ineffective total distance', resolution: MM, unit: 'm' },
	119: { name: 'Effective total time', resolution: 1, unit: 's' },
	120: { name: 'Ineffective total time', resolution: 1, unit: 's' },
	141: { name: 'Actual work state', resolution: 1, as: 'header' },
	181: { name: 'Dry mass per area yield', resolution: 1, unit: 'mg/m2', basis: 'dry' },
	182: { name: 'Dry mass per time yield', resolution: 1, unit: 'mg/s', basis: 'dry' },
	183: { name: 'Yield total dry mass', resolution: 1, unit: 'kg', basis: 'dry' },
	184: { name: 'Reference moisture for dry mass', resolution: 1, unit: 'ppm' },
	239: { name: 'Yield hold status', resolution: 1 },
	240: { name: 'Actual (un)loading system status', resolution: 1, as: 'auger' },
	314: { name: 'Actual percentage crop dry matter', resolution: 1, unit: 'ppm' },
	321: { name: 'Last unloaded weight', resolution: 0.001, unit: 'kg' },
	322: { name: 'Load identification number', resolution: 1 },
	323: { name: 'Unload identification number', resolution: 1 },
	346: { name: 'Actual swathing width', resolution: MM, unit: 'm' },
	397: { name: 'Actual speed', resolution: MM, unit: 'm/s', as: 'speed' },
	406: { name: 'Actual protein content', resolution: 1, unit: 'ppm' },
	428: { name: 'Loaded total mass', resolution: 1, unit: 'kg' },
	429: { name: 'Unloaded total mass', resolution: 1, unit: 'kg' },
};

/** Entries logged only by machines that harvest. */
export const HARVEST: ReadonlySet<number> = new Set([83, 84, 86, 87, 89, 90, 99, 181, 182, 183]);

/** Logged where an entry has no value. */
export const NO_VALUE = -2_147_483_648;

/** Two-bit states: off, on, fault, not available. */
export const twoBits = (value: number): number => {
	const state = value & 3;
	return state < 2 ? state : Number.NaN;
};
