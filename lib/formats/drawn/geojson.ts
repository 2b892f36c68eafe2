/** GeoJSON (RFC 7946): areas become boundaries, points a table with the features' properties as columns. */
import type { Feature, Geometry, Position } from 'geojson';
import { readCrs } from '../../geo/crs.ts';
import { fileFault, type Loaded } from '../bytes.ts';
import type { RawBoundary, RawColumn, RawTable } from '../raw-table.ts';
import { boundariesOrRecords, pointTable } from '../shapes.ts';
import { textOf } from '../text/decode.ts';

type XY = [number, number];

/** @throws InputFault if it is not JSON, or has neither areas nor points */
export function readGeojson({ name, bytes }: Loaded): { tables: RawTable[]; boundaries: RawBoundary[] } {
	let json: unknown;
	try {
		json = JSON.parse(textOf(bytes).replace(/^\uFEFF/, ''));
	} catch {
		throw fileFault(name, 'broken JSON', 'expected GeoJSON; the file may be cut off, export it again');
	}
	const features: Feature[] = [];
	collect(json, features, 0);
	if (features.length === 0) throw fileFault(name, 'JSON without any feature', 'expected GeoJSON with areas or points');
	const crs = crsOf(json) ?? 4326;
	const notes = readCrs(crs) === null ? [`The coordinate system is not understood: ${crs}.`] : [];
	const areas = features.filter((f) => ringsOf(f.geometry).length > 0);
	const points = features.filter((f) => pointOf(f.geometry) !== null);
	const tables: RawTable[] = [];
	const boundaries: RawBoundary[] = [];
	if (areas.length > 0) {
		const rings = areas.map((f) => ringsOf(f.geometry));
		const drawn = boundariesOrRecords({ file: name, kind: 'geojson', rings, columns: columnsOf(areas), crs, notes });
		tables.push(...drawn.tables);
		boundaries.push(...drawn.boundaries);
	}
	if (points.length > 0) {
		const at = (k: 0 | 1) => Float64Array.from(points, (f) => pointOf(f.geometry)![k]!);
		const z = Float64Array.from(points, (f) => pointOf(f.geometry)![2] ?? Number.NaN);
		tables.push(
			pointTable({
				file: name,
				kind: 'geojson',
				x: at(0),
				y: at(1),
				z: { name: 'z', numbers: z, unit: 'm' },
				rows: null,
				columns: columnsOf(points),
				crs,
				meta: {},
				notes,
			}),
		);
	}
	if (tables.length + boundaries.length === 0) {
		throw fileFault(
			name,
			`${features.length} features`,
			'expected areas (a boundary) or points (a log); lines are neither',
		);
	}
	return { tables, boundaries };
}

function collect(value: unknown, features: Feature[], depth: number): void {
	if (typeof value !== 'object' || value === null || depth > 8) return;
	const object = value as { type?: unknown; features?: unknown; geometries?: unknown; geometry?: unknown };
	if (object.type === 'FeatureCollection' && Array.isArray(object.features)) {
		for (const f of object.features) collect(f, features, depth + 1);
	} else if (object.type === 'GeometryCollection' && Array.isArray(object.geometries)) {
		for (const g of object.geometries) collect(g, features, depth + 1);
	} else if (object.type === 'Feature') {
		const { properties } = value as Feature;
		features.push({
			type: 'Feature',
			properties: typeof properties === 'object' ? properties : null,
			geometry: object.geometry as Geometry,
		});
	} else if (typeof object.type === 'string' && 'coordinates' in object) {
		features.push({ type: 'Feature', properties: null, geometry: value as Geometry });
	}
}

/** GeoJSON before 2016 could name a coordinate system, and many programs still write one. */
function crsOf(json: unknown): number | string | undefined {
	const name = (json as { crs?: { properties?: { name?: unknown } } })?.crs?.properties?.name;
	if (typeof name !== 'string') return undefined;
	if (/CRS84$/i.test(name)) return 4326;
	const code = /EPSG:(?:.*:)?(\d{4,6})$/i.exec(name)?.[1];
	return code ? Number(code) : name;
}

const xy = (p: unknown): XY | null =>
	Array.isArray(p) && typeof p[0] === 'number' && typeof p[1] === 'number' ? [p[0], p[1]] : null;

function ringsOf(geometry: Geometry | null | undefined): XY[][] {
	const { type, coordinates } = (geometry ?? {}) as { type?: string; coordinates?: unknown };
	if (!Array.isArray(coordinates)) return [];
	const polygons = type === 'Polygon' ? [coordinates] : type === 'MultiPolygon' ? coordinates : [];
	return (polygons as unknown[]).flatMap((polygon) => {
		if (!Array.isArray(polygon)) return [];
		return polygon.flatMap((ring) => {
			const corners = Array.isArray(ring) ? ring.map(xy) : [];
			return corners.length >= 3 && corners.every((c) => c !== null) ? [corners] : [];
		});
	});
}

function pointOf(geometry: Geometry | null | undefined): Position | null {
	const { type, coordinates } = (geometry ?? {}) as { type?: string; coordinates?: unknown };
	const place =
		type === 'Point' ? coordinates : type === 'MultiPoint' && Array.isArray(coordinates) ? coordinates[0] : null;
	return xy(place) ? (place as Position).map((v) => (typeof v === 'number' ? v : Number.NaN)) : null;
}

/** Properties as columns: numeric if every value present is a number. */
export function columnsOf(features: readonly { properties: Record<string, unknown> | null }[]): RawColumn[] {
	const names = new Set<string>();
	for (const f of features) for (const key of Object.keys(f.properties ?? {})) names.add(key);
	return [...names].map((name) => {
		const values = features.map((f) => (f.properties && Object.hasOwn(f.properties, name) ? f.properties[name] : null));
		const number = (v: unknown) => v === null || v === undefined || typeof v === 'number' || typeof v === 'boolean';
		if (values.every(number) && values.some((v) => v !== null)) {
			return {
				name,
				numbers: Float64Array.from(values, (v) => (v === null || v === undefined ? Number.NaN : Number(v))),
			};
		}
		return {
			name,
			text: values.map((v) =>
				v === null || v === undefined ? '' : typeof v === 'object' ? JSON.stringify(v) : String(v),
			),
		};
	});
}
