/** The field of each row: by its outline, the field that its file names, its ground. */

import type { RawBoundary } from '../../formats/index.ts';
import { type Box, boxAround, inBox } from '../../geo/box.ts';
import { edgeDistance_m, insideRings, polygonsOf, projectRings, type Rings } from '../../geo/ring.ts';
import { medianPlace, utmProjection, utmZone } from '../../geo/utm.ts';
import type { LogRows } from '../model.ts';
import type { MachineRows } from './machine-names.ts';

/** A record this far outside a boundary still belongs to that field, meters. */
const OUTSIDE_M = 60;

export interface Flat {
	n: number;
	x: Float64Array;
	y: Float64Array;
	lon: Float64Array;
	lat: Float64Array;
	time_s: Float64Array;
	machine: Int32Array;
	row: Int32Array;
	works: Uint8Array;
	/** Field that the file names for the row, '' if none. */
	field: string[];
	fieldId: string[];
}

export function flatten(machines: readonly MachineRows[], logs: readonly LogRows[]): Flat {
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
		const log = logs[m.log]!;
		// Several zones share one plane: only nearby places are ever compared.
		const shift = (zones[m.log]?.number ?? 0) * 2e6 + (zones[m.log]?.south ? 2e8 : 0);
		for (const i of m.rows) {
			f.x[k] = log.x_m[i]! + shift;
			f.y[k] = log.y_m[i]!;
			f.lon[k] = log.lon_deg[i]!;
			f.lat[k] = log.lat_deg[i]!;
			f.time_s[k] = log.time_s[i]!;
			f.machine[k] = index;
			f.row[k] = i;
			f.works[k] = log.flow_kg_s[i]! > 0 && log.header[i] !== 0 ? 1 : 0;
			f.field.push(log.field?.[i] || (log.table.meta.field ?? ''));
			f.fieldId.push(log.table.meta.fieldId ?? '');
			k++;
		}
	});
	return f;
}

interface Outline {
	rings: Rings;
	box: Box;
	toPlane: (lon: number, lat: number) => [number, number];
}

function outlineOf(b: RawBoundary): Outline {
	const box = boxAround(polygonsOf(b.geometry).flat(2));
	const projection = utmProjection(utmZone(box[0], box[1]));
	return { rings: projectRings(b.geometry, projection), box, toPlane: projection.forward };
}

/** Labels each row that cuts: the boundary it lies in, the field that its file names, its place; and why, by label. */
export function labelRows(
	flat: Flat,
	place: Int32Array,
	boundaries: readonly RawBoundary[],
): { label: string[]; reasons: Map<string, string> } {
	const outlines = boundaries.map(outlineOf);
	const label: string[] = new Array(flat.n).fill('');
	const reasons = new Map<string, string>();
	const names = new Map<number, Map<string, number>>();
	const rowsIn = new Map<number, number>();
	for (let i = 0; i < flat.n; i++) {
		const p = place[i]!;
		if (p < 0) continue;
		rowsIn.set(p, (rowsIn.get(p) ?? 0) + 1);
		let at = outlines.findIndex((o) => inside(o, flat.lon[i]!, flat.lat[i]!));
		if (at < 0 && flat.fieldId[i] !== '') {
			const linked = boundaries.findIndex((b) => b.fieldId === flat.fieldId[i]);
			if (linked >= 0 && outside_m(outlines[linked]!, flat.lon[i]!, flat.lat[i]!) < 5 * OUTSIDE_M) at = linked;
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
		const p = place[i]!;
		if (p < 0) continue;
		const counts = names.get(p);
		if (!counts) {
			label[i] = `p:${p}`;
			continue;
		}
		const all = rowsIn.get(p)!;
		const strong = [...counts].filter(([, c]) => c > Math.max(20, 0.02 * all)).sort((a, b) => b[1] - a[1]);
		const own = label[i]!;
		if (own !== '' && strong.some(([l]) => l === own)) continue;
		const bounded = strong.filter(([l]) => l.startsWith('b:'));
		if (bounded.length > 1) {
			let nearest = '';
			let least = Infinity;
			for (const [l] of bounded) {
				const d = outside_m(outlines[Number(l.slice(2))]!, flat.lon[i]!, flat.lat[i]!);
				if (d < least) [least, nearest] = [d, l];
			}
			label[i] = nearest;
		} else if (bounded.length === 1) {
			// Ground that is connected with a field but lies well outside its boundary is another field.
			const b = bounded[0]!;
			const d = outside_m(outlines[Number(b[0].slice(2))]!, flat.lon[i]!, flat.lat[i]!);
			label[i] = d < OUTSIDE_M || b[1] > 0.5 * all ? b[0] : own || `p:${p}`;
		} else label[i] = strong[0]?.[0] ?? (own || `p:${p}`);
	}
	return { label, reasons };
}

function inside(o: Outline, lon: number, lat: number): boolean {
	if (!inBox(o.box, lon, lat)) return false;
	const [x, y] = o.toPlane(lon, lat);
	return insideRings(o.rings, x, y);
}

function outside_m(o: Outline, lon: number, lat: number): number {
	const [x, y] = o.toPlane(lon, lat);
	return edgeDistance_m(o.rings, x, y);
}

/** Gives rows that cut nothing the label of the row before or after them of the same machine, unless both are far away. */
export function fillLabels(flat: Flat, label: string[]): void {
	const order = Array.from({ length: flat.n }, (_, i) => i);
	order.sort((a, b) => flat.machine[a]! - flat.machine[b]! || flat.time_s[a]! - flat.time_s[b]! || a - b);
	const pass = (steps: readonly number[], most_s: number, most_m: number) => {
		let last = -1;
		for (const i of steps) {
			if (last >= 0 && flat.machine[last] !== flat.machine[i]) last = -1;
			if (label[i] !== '') {
				last = i;
				continue;
			}
			if (last < 0) continue;
			const way = Math.hypot(flat.x[i]! - flat.x[last]!, flat.y[i]! - flat.y[last]!);
			const wait = Math.abs(flat.time_s[i]! - flat.time_s[last]!);
			if ((Number.isNaN(way) || way < most_m) && (Number.isNaN(wait) || wait < most_s)) label[i] = label[last]!;
		}
	};
	pass(order, 1800, 150);
	pass([...order].reverse(), 1800, 150);
}
