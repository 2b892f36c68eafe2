import type { RawColumn, RawTable } from '../../formats/index.ts';
import { quantileOf, upperMedian } from '../../stats/median.ts';
import { plainName, rolesByName } from '../names/roles-by-name.ts';
import { LOG_WORDS } from '../names/words.ts';

/** Finds the two position columns and their notation. */

export interface Candidate {
	column: RawColumn;
	values: Float64Array;
	score: number;
	certain: boolean;
	why: string;
}

export function candidates(table: RawTable, role: 'lat' | 'lon', flat: 'x' | 'y'): Candidate[] {
	const out: Candidate[] = [];
	for (const column of table.columns) {
		const stated = column.as === role || column.as === flat;
		const score = stated ? 1 : column.as !== undefined ? 0 : (rolesByName(column.name, LOG_WORDS).get(role) ?? 0);
		if (score === 0) continue;
		const values = column.numbers ?? (column.text ? angles(column.text, role) : null);
		if (values === null) continue;
		out.push({
			column,
			values,
			score,
			certain: stated,
			why: stated ? 'the file states it' : `the name "${column.name}"`,
		});
	}
	return out;
}

const DMS =
	/^([NSEWO])?\s*([+-]?\d+(?:[.,]\d+)?)\s*[°d:\s]?\s*(?:(\d+(?:[.,]\d+)?)\s*['’′m:\s]?\s*)?(?:(\d+(?:[.,]\d+)?)\s*(?:"|”|″|''|s)?\s*)?([NSEWO])?$/i;

/** Angles in degrees, minutes and seconds with their letter; null for other text. */
function angles(text: readonly string[], role: 'lat' | 'lon'): Float64Array | null {
	const out = new Float64Array(text.length).fill(Number.NaN);
	let good = 0;
	let held = 0;
	for (let i = 0; i < text.length; i++) {
		const cell = text[i]!.trim();
		if (cell === '') continue;
		held++;
		const found = DMS.exec(cell);
		const letter = (found?.[1] ?? found?.[5] ?? '').toUpperCase();
		if (found === null || (role === 'lat' ? /[EWO]/ : /[NS]/).test(letter)) continue;
		const number = (s: string | undefined) => Number((s ?? '0').replace(',', '.'));
		const degrees = number(found[2]);
		const value = Math.abs(degrees) + number(found[3]) / 60 + number(found[4]) / 3600;
		out[i] = value * (degrees < 0 || letter === 'S' || letter === 'W' ? -1 : 1);
		good++;
	}
	return held > 0 && good > 0.8 * held ? out : null;
}

/** A large value of a column: its 95th percentile. */
export function size(values: Float64Array): number {
	const step = Math.max(1, Math.floor(values.length / 2000));
	const sizes: number[] = [];
	for (let i = 0; i < values.length; i += step) sizes.push(Math.abs(values[i]!));
	return quantileOf(sizes, 0.95);
}

/** Two columns without helpful names that move together like a machine: fine steps, small extent, never at rest. */
export function tracked(table: RawTable): [Candidate, Candidate] | null {
	const fits = table.columns.filter((c) => {
		if (!c.numbers || c.as !== undefined || rolesByName(c.name, LOG_WORDS).size > 0) return false;
		const v = c.numbers;
		if (!(size(v) <= 180) || size(v) < 1) return false;
		let low = Infinity;
		let high = -Infinity;
		const steps: number[] = [];
		for (let i = 1; i < v.length; i++) {
			low = Math.min(low, v[i]!);
			high = Math.max(high, v[i]!);
			steps.push(Math.abs(v[i]! - v[i - 1]!));
		}
		const step = quantileOf(steps, 0.8);
		return high - low < 0.5 && high - low > 2e-4 && step > 2e-8 && step < 1e-3;
	});
	if (fits.length !== 2) return null;
	const [one, two] = fits as [RawColumn, RawColumn];
	const as = (column: RawColumn, score: number): Candidate => ({
		column,
		values: column.numbers!,
		score,
		certain: false,
		why: 'it moves as a machine in a field does',
	});
	const first = size(one.numbers!) > 90 ? two : one;
	return [as(first, 0.8), as(first === one ? two : one, 0.8)];
}

/** Grid coordinates change by meters from row to row, scaled degrees by hundreds. */
export function stepsOfMetres(v: Float64Array): boolean {
	const steps: number[] = [];
	for (let i = 1; i < v.length; i++) steps.push(Math.abs(v[i]! - v[i - 1]!));
	return !(quantileOf(steps, 0.9) >= 40);
}

export function minutes(v: Float64Array, most: number): boolean {
	if (!(size(v) > 180 && size(v) < most)) return false;
	for (const x of v) if (Math.abs(x) % 100 >= 60) return false;
	return v.some((x) => x % 1 !== 0);
}

export const fromMinutes = (v: number): number => {
	const whole = Math.floor(Math.abs(v) / 100);
	return Math.sign(v) * (whole + (Math.abs(v) - 100 * whole) / 60);
};

/** Small numbers that are not degrees: as degrees, the track would cross counties. */
export function local_m(table: RawTable, lat: Candidate, lon: Candidate, a: Float64Array, b: Float64Array): boolean {
	if (table.crs !== undefined && lat.certain && lat.column.as === 'lat') return false;
	const named = (c: Candidate) => /lat|lon|lng|breit|läng/i.test(c.column.name);
	if (named(lat) || named(lon)) return false;
	const steps: number[] = [];
	for (let i = 1; i < a.length; i++) steps.push(Math.hypot(a[i]! - a[i - 1]!, b[i]! - b[i - 1]!));
	return upperMedian(steps) > 0.05;
}

/** Degrees without a sign whose hemisphere is given elsewhere: by the column's name, or by letters beside them. */
export interface Side {
	/** −1 for rows in the south or west. */
	sign: (row: number) => 1 | -1;
	why: string;
	/** Column of letters, if it is one. */
	column: string | null;
}

const LETTERS = { lat: /^[NS]$/i, lon: /^[EWO]$/i };
const MINUS = /^[SW]$/i;

/** Null if no hemisphere is given, or if a value has a sign of its own. */
export function sideOf(table: RawTable, { column, values }: Candidate, axis: 'lat' | 'lon'): Side | null {
	if (values.some((v) => v < 0)) return null;
	const { words, brackets } = plainName(column.name);
	const named = [...words.slice(1), ...brackets.map((b) => b.toLowerCase())];
	const minus = axis === 'lat' ? /^(s|south)$/ : /^(w|west)$/;
	if (named.some((w) => minus.test(w)))
		return { sign: () => -1, why: `the name "${column.name}" says so`, column: null };
	for (const { name, text } of table.columns) {
		if (!text || text === column.text) continue;
		const held = text.filter((t) => t !== '');
		if (held.length < 0.5 * table.n || !held.every((t) => LETTERS[axis].test(t.trim()))) continue;
		return {
			sign: (i) => (MINUS.test(text[i]!.trim()) ? -1 : 1),
			why: `"${name}" holds the side`,
			column: name,
		};
	}
	return null;
}

/** Where the United States and Canada would be without their minus sign. */
const MISSED = { lat: [24, 55], lon: [66, 126] } as const;

/** Grain in US units, as far east of Greenwich as America lies west: a minus sign was lost. */
export function minusLost(place: { lon_deg: number; lat_deg: number }): boolean {
	const inside = (v: number, [least, most]: readonly [number, number]) => v > least && v < most;
	return inside(place.lat_deg, MISSED.lat) && inside(place.lon_deg, MISSED.lon);
}
