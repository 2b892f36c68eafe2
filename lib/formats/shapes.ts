/** Geometry of any format in a common form: position columns of points, boundaries in WGS 84. */

import type { MultiPolygon, Polygon, Position } from 'geojson';
import { boxAround } from '../geo/box.ts';
import { type Crs, readCrs } from '../geo/crs.ts';
import { apart_m } from '../geo/plane.ts';
import { flatRing, insideRings } from '../geo/ring.ts';
import { excerpt } from '../model/index.ts';
import type { RawBoundary, RawColumn, RawTable } from './raw-table.ts';

type XY = [number, number];

/** Position columns of points: `lon` and `lat` in WGS 84 degrees, else `x` and `y` with their coordinate system. */
export function placeColumns(
	x: Float64Array,
	y: Float64Array,
	crs: number | string | undefined,
): { columns: RawColumn[]; crs?: number | string; notes: string[] } {
	const known = crs === undefined ? null : readCrs(crs);
	const notes: string[] = [];
	if (crs !== undefined && known === null) notes.push(`The coordinate system is not understood: ${shortCrs(crs)}.`);
	if (known?.doubt) notes.push(`Places: ${known.doubt}.`);
	if (known?.degrees) {
		return {
			columns: [
				{ name: 'lon', numbers: x, as: 'lon', unit: 'deg', certain: true },
				{ name: 'lat', numbers: y, as: 'lat', unit: 'deg', certain: true },
			],
			notes,
		};
	}
	return {
		columns: [
			{ name: 'x', numbers: x, as: 'x', certain: true },
			{ name: 'y', numbers: y, as: 'y', certain: true },
		],
		...(crs === undefined ? {} : { crs }),
		notes,
	};
}

/** Points of a file: their places, heights if it has any, the rows they stand in, and what else it says of them. */
interface Points extends Pick<RawTable, 'file' | 'kind' | 'columns' | 'notes'> {
	x: Float64Array;
	y: Float64Array;
	z: RawColumn | null;
	/** Rows in the file, from 0; null: all. */
	rows: Int32Array | null;
	crs: number | string | undefined;
	meta: RawTable['meta'];
}

/** Points as a table. Heights that are all zero say nothing and are left out. */
export function pointTable({ file, kind, x, y, z, rows, columns, crs, meta, notes }: Points): RawTable {
	const place = placeColumns(x, y, crs);
	const high = z?.numbers?.some((h) => Number.isFinite(h) && h !== 0) ? [z] : [];
	return {
		file,
		kind,
		n: x.length,
		columns: namedApart([...columns, ...high, ...place.columns]),
		lines: Int32Array.from(x, (_, i) => (rows?.[i] ?? i) + 1),
		...(place.crs === undefined ? {} : { crs: place.crs }),
		meta,
		notes: [...notes, ...place.notes],
	};
}

/** Columns with unique names: a second "x" becomes "x 2". */
export function namedApart(columns: RawColumn[]): RawColumn[] {
	const taken = new Set<string>();
	return columns.map((c, i) => {
		const plain = c.name.trim() === '' ? `column ${i + 1}` : c.name;
		let name = plain;
		for (let k = 2; taken.has(name); k++) name = `${plain} ${k}`;
		taken.add(name);
		return name === c.name ? c : { ...c, name };
	});
}

/** Rings in file order as a WGS 84 polygon: a ring inside an odd number of others is a hole. Null without rings. */
export function areaOf(rings: readonly XY[][], crs: Crs | null): Polygon | MultiPolygon | null {
	const turned = rings.map((ring) => toWgs84(ring, crs)).filter((ring) => ring.length >= 3);
	const flat = turned.map(flatRing);
	const holds = (k: number, [x, y]: XY) => insideRings([flat[k]!], x, y);
	const depth = turned.map((ring, i) => turned.filter((_, k) => k !== i && holds(k, ring[0]!)).length);
	const outers = turned.flatMap((ring, i) => (depth[i]! % 2 === 0 ? [{ at: i, ring, holes: [] as XY[][] }] : []));
	turned.forEach((ring, i) => {
		if (depth[i]! % 2 === 0) return;
		const around = outers.filter((o) => depth[o.at] === depth[i]! - 1 && holds(o.at, ring[0]!));
		around[0]?.holes.push(ring);
	});
	return polygonOf(outers.map((o) => [o.ring, ...o.holes]));
}

/** Polygons of rings, already in WGS 84, as one geometry. */
export function polygonOf(polygons: Position[][][]): Polygon | MultiPolygon | null {
	const [first] = polygons;
	if (first === undefined) return null;
	return polygons.length === 1
		? { type: 'Polygon', coordinates: first }
		: { type: 'MultiPolygon', coordinates: polygons };
}

export function toWgs84(ring: readonly XY[], crs: Crs | null): XY[] {
	if (crs === null || crs.degrees) return ring.map(([x, y]) => [x, y]);
	const { lon_deg, lat_deg } = crs.toWgs84(
		Float64Array.from(ring, (p) => p[0]),
		Float64Array.from(ring, (p) => p[1]),
	);
	return ring.map((_, i): XY => [lon_deg[i]!, lat_deg[i]!]).filter(([lon]) => Number.isFinite(lon));
}

/** Areas as drawn in a file, one per row, with the row's values. */
export interface Drawn {
	file: string;
	kind: RawTable['kind'];
	rings: (readonly XY[][])[];
	columns: RawColumn[];
	crs: number | string | undefined;
	notes: string[];
}

/** No field is this small and no record this large: meters across. */
const RECORD_M = 40;
/** Columns whose text names a field. */
const NAMES = /^(name|field|field[ _]?name|fld[ _]?name|label|title|boundary)$/i;

/** Areas become boundaries, or, if each is as small as one record's swath, a table of their centers. */
export function boundariesOrRecords(drawn: Drawn): { tables: RawTable[]; boundaries: RawBoundary[] } {
	const { file, kind, rings, columns, notes } = drawn;
	const crs = drawn.crs === undefined ? null : readCrs(drawn.crs);
	const across = rings.flatMap((r) => (r[0] ? [size_m(toWgs84(r[0], crs))] : [])).sort((a, b) => a - b);
	if (across.length >= 50 && across[across.length >> 1]! < RECORD_M) {
		const middles = rings.map((r) => middleOf(r[0] ?? []));
		const place = placeColumns(
			Float64Array.from(middles, (m) => m[0]),
			Float64Array.from(middles, (m) => m[1]),
			drawn.crs,
		);
		const table: RawTable = {
			file,
			kind,
			n: rings.length,
			columns: namedApart([...place.columns, ...columns]),
			...(place.crs === undefined ? {} : { crs: place.crs }),
			meta: {},
			notes: [...notes, ...place.notes, 'The records are drawn as areas; the middle of each is taken as its place.'],
		};
		return { tables: [table], boundaries: [] };
	}
	const nameColumn = columns.find((c) => c.text && NAMES.test(c.name));
	const doubt = crs?.doubt ? [`Places: ${crs.doubt}.`] : [];
	if (drawn.crs !== undefined && crs === null)
		doubt.push(`The coordinate system is not understood: ${shortCrs(drawn.crs)}.`);
	const boundaries = rings.flatMap((r, i): RawBoundary[] => {
		const geometry = areaOf(r as XY[][], crs);
		if (geometry === null) return [];
		const name = nameColumn?.text?.[i];
		const properties: RawBoundary['properties'] = {};
		for (const c of columns) {
			const v = c.numbers ? c.numbers[i]! : c.text![i]!;
			properties[c.name] = typeof v === 'number' && !Number.isFinite(v) ? null : v;
		}
		return [{ file, kind, ...(name ? { name } : {}), geometry, properties, notes: [...notes, ...doubt] }];
	});
	return { tables: [], boundaries };
}

function size_m(ring: readonly XY[]): number {
	if (ring.length === 0) return Infinity;
	const [west, south, east, north] = boxAround(ring);
	return apart_m(east, south, west, north);
}

function middleOf(ring: readonly XY[]): XY {
	if (ring.length === 0) return [Number.NaN, Number.NaN];
	const closed = ring.length > 1 && ring[0]![0] === ring.at(-1)![0] && ring[0]![1] === ring.at(-1)![1];
	const corners = closed ? ring.slice(1) : ring;
	return [0, 1].map((k) => corners.reduce((s, p) => s + p[k as 0 | 1], 0) / corners.length) as XY;
}

const shortCrs = (crs: number | string): string => (typeof crs === 'number' ? `EPSG:${crs}` : excerpt(crs));
