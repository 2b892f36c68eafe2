import type { Position } from 'geojson';
import type { Field, Note } from '../../model/index.ts';

/** What can only be said once everything is read. */
export function cautions(field: Field): Note[] {
	const notes: Note[] = [];
	const caution = (text: string) => notes.push({ level: 'caution', text });
	const rows = new Map<string, Set<number | null>>();
	for (const { file, row } of field.setAside) rows.set(file, (rows.get(file) ?? new Set()).add(row));
	for (const [file, set] of rows) {
		const n = set.size;
		caution(`${file}: ${n} ${n === 1 ? 'row has' : 'rows have'} something that is not used; see what is set aside.`);
	}
	strangers(field, caution);
	season(field, caution);
	if (field.boundary && !overlaps(field)) {
		caution(
			'No record lies within the boundary’s extent: are its longitude and latitude swapped, or is it another field’s?',
		);
	}
	return notes;
}

/** Names in field.json that no log knows. */
function strangers({ plan, records }: Field, caution: (text: string) => void): void {
	const known = new Set(records.combines);
	const named = new Set([
		...Object.keys(plan.combines),
		...Object.keys(plan.pins.factors ?? {}),
		...Object.keys(plan.pins.lags ?? {}),
		...plan.events.flatMap((e) => (e.combine === null ? [] : [e.combine])),
	]);
	for (const name of named) {
		if (!known.has(name)) caution(`field.json names combine ${name}, but there is no log of it here.`);
	}
}

function season({ plan, records }: Field, caution: (text: string) => void): void {
	const middle_s = records.time_s[records.n >> 1];
	if (plan.season === null || middle_s === undefined) return;
	const year = new Date(middle_s * 1000).getUTCFullYear();
	// Southern harvests run over the new year.
	if (Math.abs(year - plan.season) > 1) caution(`field.json says season ${plan.season}, the logs are of ${year}.`);
}

function overlaps({ boundary, records }: Field): boolean {
	const rings: Position[][] =
		boundary?.type === 'Polygon' ? boundary.coordinates : (boundary?.coordinates.flat() ?? []);
	let [west, south, east, north] = [Infinity, Infinity, -Infinity, -Infinity];
	for (const [lon, lat] of rings.flat() as [number, number][]) {
		west = Math.min(west, lon);
		east = Math.max(east, lon);
		south = Math.min(south, lat);
		north = Math.max(north, lat);
	}
	let placed = false;
	for (let i = 0; i < records.n; i++) {
		const lon = records.lon_deg[i] as number;
		const lat = records.lat_deg[i] as number;
		if (lon >= west && lon <= east && lat >= south && lat <= north) return true;
		placed ||= !Number.isNaN(lon) && !Number.isNaN(lat);
	}
	return !placed;
}
