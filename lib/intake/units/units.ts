import type { RawColumn, Role } from '../../formats/index.ts';
import { UNITS as ALL, type Unit, unitsOf } from '../../units/index.ts';
import { plainName } from '../names/roles-by-name.ts';

/** The units of these names, in the order of all. */
const units = (...names: string[]): Unit[] => ALL.filter((u) => names.includes(u.name));

const MASSES = unitsOf('mass');

/** Units by role, the more likely first. */
export const UNITS: Partial<Record<Role, readonly Unit[]>> = {
	flow: unitsOf('mass per time'),
	yield: unitsOf('mass per area'),
	mass: MASSES,
	mass_total: MASSES,
	weight: MASSES,
	gross: MASSES,
	tare: MASSES,
	interval: units('s', 'ms', 'min', 'h'),
	time: unitsOf('time'),
	distance: unitsOf('length'),
	swath: units('m', 'ft', 'in', 'cm', 'mm', 'yd'),
	elevation: units('m', 'ft', 'cm', 'mm'),
	x: units('m', 'ft', 'km'),
	area: unitsOf('area'),
	area_total: units('m2', 'ha', 'ac'),
	moisture: unitsOf('share'),
	speed: unitsOf('speed'),
	heading: units('deg', 'rad'),
	lat: units('deg', '1e-7 deg'),
	lon: units('deg', '1e-7 deg'),
	test_weight: unitsOf('mass per volume'),
};

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
