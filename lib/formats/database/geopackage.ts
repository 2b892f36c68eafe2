/** GeoPackage (OGC 12-128r18): each layer of features, points as a table, areas as boundaries. */
import { fileFault, type Loaded, viewOf } from '../bytes.ts';
import { columnsOf } from '../drawn/geojson.ts';
import type { RawBoundary, RawTable } from '../raw-table.ts';
import { boundariesOrRecords, pointTable } from '../shapes.ts';
import { Database, type Value } from './sqlite.ts';

type XY = [number, number];
type Shape = { kind: 'point'; place: XY; z: number } | { kind: 'area'; rings: XY[][] } | { kind: 'other' };

/** @throws InputFault if it is not a GeoPackage, or has neither points nor areas */
export function readGeopackage(file: Loaded): { tables: RawTable[]; boundaries: RawBoundary[] } {
	const database = new Database(file);
	if (!database.tables.has('gpkg_contents')) {
		throw fileFault(
			file.name,
			'an SQLite database of another kind',
			'expected a GeoPackage; export the log as a shapefile or CSV',
		);
	}
	const systems = new Map<Value, number | string>();
	for (const s of database.rows('gpkg_spatial_ref_sys')) {
		const epsg = typeof s.organization === 'string' && /^epsg$/i.test(s.organization);
		const definition = typeof s.definition === 'string' && s.definition !== 'undefined' ? s.definition : undefined;
		const code = epsg && typeof s.organization_coordsys_id === 'number' ? s.organization_coordsys_id : undefined;
		const crs = code === 4326 ? code : (definition ?? code);
		if (s.srs_id !== null && crs !== undefined) systems.set(s.srs_id!, crs);
	}
	const geometries = new Map<Value, Record<string, Value>>();
	for (const g of database.rows('gpkg_geometry_columns')) geometries.set(g.table_name ?? null, g);
	const tables: RawTable[] = [];
	const boundaries: RawBoundary[] = [];
	const layers = [...database.rows('gpkg_contents')].filter((c) => c.data_type === 'features');
	for (const { table_name: layer } of layers) {
		const about = geometries.get(layer ?? null);
		if (typeof layer !== 'string' || typeof about?.column_name !== 'string') continue;
		const read = layerOf(file, database, layer, about.column_name, systems.get(about.srs_id ?? null));
		tables.push(...read.tables);
		boundaries.push(...read.boundaries);
	}
	if (tables.length + boundaries.length === 0) {
		throw fileFault(
			file.name,
			`${layers.length} layers without points or areas`,
			'expected a layer of points (a log) or of areas (boundaries)',
		);
	}
	return { tables, boundaries };
}

function layerOf(
	file: Loaded,
	database: Database,
	layer: string,
	geometry: string,
	crs: number | string | undefined,
): { tables: RawTable[]; boundaries: RawBoundary[] } {
	const rows: { properties: Record<string, unknown>; shape: Shape }[] = [];
	const rowid = database.tables.get(layer)!.rowidColumn;
	const key = rowid < 0 ? null : database.tables.get(layer)!.columns[rowid]!;
	for (const row of database.rows(layer)) {
		const { [geometry]: blob, ...rest } = row;
		// The row's number belongs to the database, not to the data.
		if (key !== null) delete rest[key];
		const shape: Shape = blob instanceof Uint8Array ? shapeOf(blob) : { kind: 'other' };
		const properties = Object.fromEntries(Object.entries(rest).filter(([, v]) => !(v instanceof Uint8Array)));
		rows.push({ properties, shape });
	}
	const name = `${file.name}/${layer}`;
	const areas = rows.flatMap((r) => (r.shape.kind === 'area' ? [{ ...r, rings: r.shape.rings }] : []));
	const points = rows.flatMap((r) => (r.shape.kind === 'point' ? [{ ...r, place: r.shape.place, z: r.shape.z }] : []));
	const left = rows.length - areas.length - points.length;
	const notes = left > 0 ? [`${left} rows of layer ${layer} are neither points nor areas and are left out.`] : [];
	const out = boundariesOrRecords({
		file: name,
		kind: 'geopackage',
		rings: areas.map((a) => a.rings),
		columns: columnsOf(areas),
		crs,
		notes,
	});
	if (points.length === 0) return out;
	const table = pointTable({
		file: name,
		kind: 'geopackage',
		x: Float64Array.from(points, (p) => p.place[0]),
		y: Float64Array.from(points, (p) => p.place[1]),
		z: { name: 'z', numbers: Float64Array.from(points, (p) => p.z) },
		rows: null,
		columns: columnsOf(points),
		crs,
		meta: { layer },
		notes,
	});
	return { tables: [table, ...out.tables], boundaries: out.boundaries };
}

/** A geometry blob (2.1.3): a header, then well-known binary (ISO 13249-3). */
function shapeOf(blob: Uint8Array): Shape {
	if (blob.length < 13 || blob[0] !== 0x47 || blob[1] !== 0x50) return { kind: 'other' };
	const envelope = [0, 32, 48, 48, 64][(blob[3]! >> 1) & 7];
	if (envelope === undefined) return { kind: 'other' };
	try {
		return new WellKnown(blob, 8 + envelope).shape(0);
	} catch (fault) {
		// Numbers that point past the blob's end: a damaged shape, skipped.
		if (fault instanceof RangeError) return { kind: 'other' };
		throw fault;
	}
}

class WellKnown {
	private readonly view: DataView;
	constructor(
		bytes: Uint8Array,
		private at: number,
	) {
		this.view = viewOf(bytes);
	}

	shape(depth: number): Shape {
		const little = this.view.getUint8(this.at) === 1;
		const code = this.view.getUint32(this.at + 1, little);
		this.at += 5;
		// Heights and measures are marked by hundreds or thousands (ISO) or by high bits (older).
		const type = (code & 0x0fffffff) % 1000;
		const iso = Math.floor((code & 0x0fffffff) / 1000);
		const extra =
			(iso === 1 || iso === 3 || code & 0x80000000 ? 1 : 0) + (iso === 2 || iso === 3 || code & 0x40000000 ? 1 : 0);
		if (type === 1) {
			const place = this.place(little);
			const z =
				extra > 0 && (iso === 1 || iso === 3 || code & 0x80000000) ? this.view.getFloat64(this.at, little) : Number.NaN;
			this.at += extra * 8;
			return Number.isFinite(place[0]) ? { kind: 'point', place, z } : { kind: 'other' };
		}
		if (type === 3) {
			const rings: XY[][] = [];
			for (let r = this.count(little, 4); r > 0; r--) {
				const ring: XY[] = [];
				for (let p = this.count(little, 16); p > 0; p--) {
					ring.push(this.place(little));
					this.at += extra * 8;
				}
				rings.push(ring);
			}
			return { kind: 'area', rings };
		}
		if ((type === 4 || type === 6 || type === 7) && depth < 4) {
			const inside: Shape[] = [];
			for (let n = this.count(little, 5); n > 0; n--) inside.push(this.shape(depth + 1));
			const rings = inside.flatMap((s) => (s.kind === 'area' ? s.rings : []));
			return rings.length > 0 ? { kind: 'area', rings } : (inside.find((s) => s.kind === 'point') ?? { kind: 'other' });
		}
		return { kind: 'other' };
	}

	private place(little: boolean): XY {
		const place: XY = [this.view.getFloat64(this.at, little), this.view.getFloat64(this.at + 8, little)];
		this.at += 16;
		return place;
	}

	/** Number of elements that follow: no more than the remaining bytes can hold. */
	private count(little: boolean, least: number): number {
		const n = this.view.getUint32(this.at, little);
		this.at += 4;
		if (n * least > this.view.byteLength - this.at) throw new RangeError('more than there is');
		return n;
	}
}
