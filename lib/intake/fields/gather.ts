import type { RawBoundary } from '../../formats/index.ts';
import { edgeDistance_m, insideRings, projectRings, type Rings } from '../../geo/ring.ts';
import { medianPlace, utmProjection, utmZone } from '../../geo/utm.ts';
import type { LogRows } from '../model.ts';
import { placesOf } from './cluster.ts';
import type { MachineRows } from './names.ts';

/** The rows of one field. */
export interface FieldRows {
	name: string;
	because: string;
	boundary: RawBoundary | null;
	/** By machine: rows of its log. */
	parts: { machine: number; rows: Int32Array }[];
	start_s: number;
	end_s: number;
}

export interface Gathered {
	fields: FieldRows[];
	/** Rows between fields, by machine. */
	travel: { machine: number; rows: number }[];
	/** Boundaries that no grain lies in. */
	idle: RawBoundary[];
}

/** A season is over after so long without a record, seconds. */
const SEASON_S = 60 * 86_400;
/** A record this far outside a boundary is still that field's, metres. */
const BESIDE_M = 60;

/** Sorts every machine's rows into fields: by boundaries, by the field that a file names, by ground, by season. */
export function gatherFields(
	machines: readonly MachineRows[],
	logs: readonly LogRows[],
	boundaries: readonly RawBoundary[],
): Gathered {
	const flat = flatten(machines, logs);
	const { n } = flat;
	const { place } = placesOf(flat.x, flat.y, flat.time_s, flat.machine, flat.works);
	const label: string[] = new Array(n).fill('');
	const outlines = boundaries.map((b) => outlineOf(b));
	const reasons = new Map<string, string>();
	labelRows(flat, place, label, outlines, boundaries, reasons);
	carry(flat, label);
	// A machine that cut one field alone had nowhere else to go.
	const cut = new Map<number, Set<string>>();
	for (let i = 0; i < n; i++) {
		if (label[i] === '') continue;
		const labels = cut.get(flat.machine[i] as number) ?? new Set<string>();
		cut.set(flat.machine[i] as number, labels.add(label[i] as string));
	}
	for (let i = 0; i < n; i++) {
		const labels = cut.get(flat.machine[i] as number);
		if (label[i] === '' && labels?.size === 1) label[i] = [...labels][0] as string;
	}
	const groups = new Map<string, number[]>();
	const travel = new Map<number, number>();
	for (let i = 0; i < n; i++) {
		const key = label[i] as string;
		if (key === '') {
			travel.set(flat.machine[i] as number, (travel.get(flat.machine[i] as number) ?? 0) + 1);
			continue;
		}
		const rows = groups.get(key);
		if (rows) rows.push(i);
		else groups.set(key, [i]);
	}
	const fields: FieldRows[] = [];
	const used = new Set<number>();
	for (const [key, rows] of groups) {
		const seasons = bySeason(rows, flat.time_s);
		const at = key.startsWith('b:') ? Number(key.slice(2)) : -1;
		if (at >= 0) used.add(at);
		for (const season of seasons) {
			const boundary = at < 0 ? null : (boundaries[at] as RawBoundary);
			const name = boundary?.name ?? (key.startsWith('f:') ? key.slice(2) : (namedIn(season, flat) ?? ''));
			fields.push(
				fieldOf(name, reasons.get(key) ?? 'ground that hangs together', boundary, season, flat, seasons.length > 1),
			);
		}
	}
	fields.sort((a, b) => a.start_s - b.start_s);
	return {
		fields,
		travel: [...travel].map(([machine, rows]) => ({ machine, rows })),
		idle: boundaries.filter((_, k) => !used.has(k)),
	};
}

interface Flat {
	n: number;
	x: Float64Array;
	y: Float64Array;
	lon: Float64Array;
	lat: Float64Array;
	time_s: Float64Array;
	machine: Int32Array;
	row: Int32Array;
	works: Uint8Array;
	/** Field that the file names for the row, '' where it does not. */
	field: string[];
	fieldId: string[];
}

function flatten(machines: readonly MachineRows[], logs: readonly LogRows[]): Flat {
	const n = machines.reduce((s, m) => s + m.rows.length, 0);
	const f: Flat = {
		n,
		x: new Float64Array(n),
		y: new Float64Array(n),
		lon: new Float64Array(n),
		lat: new Float64Array(n),
		time_s: new Float64Array(n),
		machine: new Int32Array(n),
		row: new Int32Array(n),
		works: new Uint8Array(n),
		field: [],
		fieldId: [],
	};
	const zones = logs.map((log) => {
		const middle = medianPlace(log.lon_deg, log.lat_deg);
		return Number.isFinite(middle.lon_deg) ? utmZone(middle.lon_deg, middle.lat_deg) : utmZone(0, 0);
	});
	let k = 0;
	machines.forEach((m, index) => {
		const log = logs[m.log] as LogRows;
		// Zones side by side in one plane: only near places are ever compared.
		const shift = (zones[m.log]?.number ?? 0) * 2e6 + (zones[m.log]?.south ? 2e8 : 0);
		for (const i of m.rows) {
			f.x[k] = (log.x_m[i] as number) + shift;
			f.y[k] = log.y_m[i] as number;
			f.lon[k] = log.lon_deg[i] as number;
			f.lat[k] = log.lat_deg[i] as number;
			f.time_s[k] = log.time_s[i] as number;
			f.machine[k] = index;
			f.row[k] = i;
			f.works[k] = (log.flow_kg_s[i] as number) > 0 && log.header[i] !== 0 ? 1 : 0;
			f.field.push(log.field?.[i] || (log.table.meta.field ?? ''));
			f.fieldId.push(log.table.meta.fieldId ?? '');
			k++;
		}
	});
	return f;
}

interface Outline {
	rings: Rings;
	west: number;
	east: number;
	south: number;
	north: number;
	toPlane: (lon: number, lat: number) => [number, number];
}

function outlineOf(b: RawBoundary): Outline {
	const points = (b.geometry.type === 'Polygon' ? [b.geometry.coordinates] : b.geometry.coordinates).flat(2);
	let [west, south, east, north] = [Infinity, Infinity, -Infinity, -Infinity];
	for (const p of points) {
		west = Math.min(west, p[0] as number);
		east = Math.max(east, p[0] as number);
		south = Math.min(south, p[1] as number);
		north = Math.max(north, p[1] as number);
	}
	const projection = utmProjection(utmZone(west, south));
	return { rings: projectRings(b.geometry, projection), west, east, south, north, toPlane: projection.forward };
}

/** Labels each row that cuts: the boundary it lies in, the field that its file names, its place. */
function labelRows(
	flat: Flat,
	place: Int32Array,
	label: string[],
	outlines: readonly Outline[],
	boundaries: readonly RawBoundary[],
	reasons: Map<string, string>,
): void {
	const names = new Map<number, Map<string, number>>();
	const rowsIn = new Map<number, number>();
	for (let i = 0; i < flat.n; i++) {
		const p = place[i] as number;
		if (p < 0) continue;
		rowsIn.set(p, (rowsIn.get(p) ?? 0) + 1);
		let at = outlines.findIndex((o) => inside(o, flat.lon[i] as number, flat.lat[i] as number));
		if (at < 0 && flat.fieldId[i] !== '') {
			const linked = boundaries.findIndex((b) => b.fieldId === flat.fieldId[i]);
			if (
				linked >= 0 &&
				beside(outlines[linked] as Outline, flat.lon[i] as number, flat.lat[i] as number) < 5 * BESIDE_M
			)
				at = linked;
		}
		const own = at >= 0 ? `b:${at}` : flat.field[i] !== '' ? `f:${flat.field[i]}` : '';
		label[i] = own;
		if (own === '') continue;
		if (at >= 0) reasons.set(own, `it lies in the boundary "${boundaries[at]?.name ?? boundaries[at]?.file}"`);
		else reasons.set(own, `the file names it "${flat.field[i]}"`);
		const counts = names.get(p) ?? new Map<string, number>();
		counts.set(own, (counts.get(own) ?? 0) + 1);
		names.set(p, counts);
	}
	for (let i = 0; i < flat.n; i++) {
		const p = place[i] as number;
		if (p < 0) continue;
		const counts = names.get(p);
		if (!counts) {
			label[i] = `p:${p}`;
			continue;
		}
		const all = rowsIn.get(p) as number;
		const strong = [...counts].filter(([, c]) => c > Math.max(20, 0.02 * all)).sort((a, b) => b[1] - a[1]);
		const own = label[i] as string;
		if (own !== '' && strong.some(([l]) => l === own)) continue;
		const bounded = strong.filter(([l]) => l.startsWith('b:'));
		if (bounded.length > 1) {
			let nearest = '';
			let least = Number.POSITIVE_INFINITY;
			for (const [l] of bounded) {
				const d = beside(outlines[Number(l.slice(2))] as Outline, flat.lon[i] as number, flat.lat[i] as number);
				if (d < least) [least, nearest] = [d, l];
			}
			label[i] = nearest;
		} else if (bounded.length === 1) {
			// Ground that hangs together with a field but lies well outside its boundary is another.
			const b = bounded[0] as [string, number];
			const d = beside(outlines[Number(b[0].slice(2))] as Outline, flat.lon[i] as number, flat.lat[i] as number);
			label[i] = d < BESIDE_M || b[1] > 0.5 * all ? b[0] : own || `p:${p}`;
		} else label[i] = strong[0]?.[0] ?? (own || `p:${p}`);
	}
}

function inside(o: Outline, lon: number, lat: number): boolean {
	if (!(lon >= o.west && lon <= o.east && lat >= o.south && lat <= o.north)) return false;
	const [x, y] = o.toPlane(lon, lat);
	return insideRings(o.rings, x, y);
}

function beside(o: Outline, lon: number, lat: number): number {
	const [x, y] = o.toPlane(lon, lat);
	return edgeDistance_m(o.rings, x, y);
}

/** Rows that cut nothing go with the row before or after them of the same machine, unless they are far from both. */
function carry(flat: Flat, label: string[]): void {
	const order = Array.from({ length: flat.n }, (_, i) => i);
	order.sort(
		(a, b) =>
			(flat.machine[a] as number) - (flat.machine[b] as number) ||
			(flat.time_s[a] as number) - (flat.time_s[b] as number) ||
			a - b,
	);
	const pass = (steps: readonly number[], most_s: number, most_m: number) => {
		let last = -1;
		for (const i of steps) {
			if (last >= 0 && flat.machine[last] !== flat.machine[i]) last = -1;
			if (label[i] !== '') {
				last = i;
				continue;
			}
			if (last < 0) continue;
			const way = Math.hypot(
				(flat.x[i] as number) - (flat.x[last] as number),
				(flat.y[i] as number) - (flat.y[last] as number),
			);
			const wait = Math.abs((flat.time_s[i] as number) - (flat.time_s[last] as number));
			if ((Number.isNaN(way) || way < most_m) && (Number.isNaN(wait) || wait < most_s))
				label[i] = label[last] as string;
		}
	};
	pass(order, 1800, 150);
	pass([...order].reverse(), 1800, 150);
}

function bySeason(rows: number[], time_s: Float64Array): number[][] {
	const order = [...rows].sort((a, b) => (time_s[a] as number) - (time_s[b] as number));
	const out: number[][] = [];
	let last = Number.NaN;
	for (const i of order) {
		const t = time_s[i] as number;
		if (out.length === 0 || t - last > SEASON_S) out.push([]);
		if (!Number.isNaN(t)) last = t;
		out.at(-1)!.push(i);
	}
	return out;
}

/** The field that most rows name. */
function namedIn(rows: readonly number[], flat: Flat): string | null {
	const counts = new Map<string, number>();
	for (const i of rows)
		if (flat.field[i] !== '') counts.set(flat.field[i] as string, (counts.get(flat.field[i] as string) ?? 0) + 1);
	return [...counts].sort((a, b) => b[1] - a[1])[0]?.[0] ?? null;
}

function fieldOf(
	name: string,
	because: string,
	boundary: RawBoundary | null,
	rows: readonly number[],
	flat: Flat,
	seasons: boolean,
): FieldRows {
	const by = new Map<number, number[]>();
	let start_s = Number.POSITIVE_INFINITY;
	let end_s = Number.NEGATIVE_INFINITY;
	for (const i of rows) {
		const m = flat.machine[i] as number;
		const list = by.get(m);
		if (list) list.push(flat.row[i] as number);
		else by.set(m, [flat.row[i] as number]);
		const t = flat.time_s[i] as number;
		if (t < start_s) start_s = t;
		if (t > end_s) end_s = t;
	}
	const year = seasons && Number.isFinite(start_s) ? ` ${new Date(start_s * 1000).getUTCFullYear()}` : '';
	return {
		name: `${name}${year}`.trim(),
		because,
		boundary,
		parts: [...by].map(([machine, list]) => ({ machine, rows: Int32Array.from(list) })),
		start_s,
		end_s,
	};
}
