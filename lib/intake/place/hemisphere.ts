import type { RawTable } from '../../formats/index.ts';
import { plainName } from '../names/match.ts';
import type { Candidate } from './columns.ts';

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
			sign: (i) => (MINUS.test((text[i] as string).trim()) ? -1 : 1),
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
