/// <reference path="./geojson-validation.d.ts" />

import type { Feature, FeatureCollection, Geometry, MultiPolygon, Polygon, Position } from 'geojson';
import validation from 'geojson-validation';
import { crossing } from './crossing.ts';

/** What is wrong with a boundary, in words, and what was found. */
export interface BoundaryFault {
	found: string;
	why: string;
}

/** A boundary fit for use and what was mended in it, or its faults. */
export type Mended =
	| { polygon: Polygon | MultiPolygon; mends: string[]; faults: [] }
	| { polygon: null; mends: string[]; faults: BoundaryFault[] };

/** One polygon of a file with the properties of its feature. */
export interface MendedPart {
	rings: Position[][];
	properties: Record<string, unknown> | null;
}

/** The types that RFC 7946 knows; anything else would trip the validation library. */
const TYPES: ReadonlySet<unknown> = new Set([
	'Point',
	'MultiPoint',
	'LineString',
	'MultiLineString',
	'Polygon',
	'MultiPolygon',
	'GeometryCollection',
	'Feature',
	'FeatureCollection',
]);

/** No boundary nests deeper than a collection of features of collections. */
const DEEPEST = 8;

/**
 * Checks and mends a field's boundary from GeoJSON (RFC 7946, WGS 84): any object that holds polygons. Rings are
 * closed, outer ones turned counterclockwise and holes clockwise, repeated points dropped; what was mended is told.
 * A ring that crosses itself, a position off the globe, an unknown type are faults.
 */
export function mendBoundary(json: unknown): Mended {
	const { parts, mends, faults } = mendPolygons(json);
	if (faults.length > 0) return { polygon: null, mends, faults };
	const [first] = parts;
	const polygon: Polygon | MultiPolygon =
		parts.length === 1 && first
			? { type: 'Polygon', coordinates: first.rings }
			: { type: 'MultiPolygon', coordinates: parts.map((p) => p.rings) };
	return { polygon, mends, faults: [] };
}

/** The polygons of any GeoJSON object, checked and mended one by one. */
export function mendPolygons(json: unknown): { parts: MendedPart[]; mends: string[]; faults: BoundaryFault[] } {
	const faults: BoundaryFault[] = [];
	const mends = new Set<string>();
	checkTypes(json, 0, faults);
	if (faults.length > 0) return { parts: [], mends: [], faults };
	const parts: MendedPart[] = [];
	collect(json as Geometry | Feature | FeatureCollection, null, (rings, properties) => {
		const mended = mendRings(rings, mends, faults);
		if (mended !== null) parts.push({ rings: mended, properties });
	});
	if (faults.length === 0) {
		for (const { rings } of parts) {
			const complaints = validation.valid({ type: 'Polygon', coordinates: rings }, true);
			for (const found of complaints) faults.push({ found, why: 'this is not valid GeoJSON (RFC 7946)' });
		}
	}
	if (faults.length === 0 && parts.length === 0) {
		faults.push({
			found: String((json as { type: unknown }).type),
			why: 'expected a Polygon or MultiPolygon, alone or in a Feature or FeatureCollection',
		});
	}
	return { parts, mends: [...mends], faults };
}

function checkTypes(value: unknown, depth: number, faults: BoundaryFault[]): void {
	if (typeof value !== 'object' || value === null || Array.isArray(value)) {
		faults.push({ found: short(value), why: 'expected a GeoJSON object' });
		return;
	}
	const object = value as Record<string, unknown>;
	if (!TYPES.has(object.type)) {
		faults.push({ found: short(object.type), why: `"type" must be one of ${[...TYPES].join(', ')}` });
		return;
	}
	if (depth > DEEPEST) {
		faults.push({ found: `${depth} levels`, why: 'the objects are nested too deeply' });
		return;
	}
	for (const key of ['features', 'geometries']) {
		if ((object.type === 'FeatureCollection') !== (key === 'features')) continue;
		if (object.type !== 'FeatureCollection' && object.type !== 'GeometryCollection') continue;
		if (!Array.isArray(object[key])) faults.push({ found: short(object[key]), why: `"${key}" must be a list` });
		else for (const one of object[key]) checkTypes(one, depth + 1, faults);
	}
	if (object.type === 'Feature' && object.geometry !== null) checkTypes(object.geometry, depth + 1, faults);
}

function collect(
	object: Geometry | Feature | FeatureCollection,
	properties: Record<string, unknown> | null,
	polygon: (rings: unknown, properties: Record<string, unknown> | null) => void,
): void {
	switch (object.type) {
		case 'FeatureCollection':
			for (const feature of object.features) collect(feature, null, polygon);
			break;
		case 'Feature':
			if (object.geometry) collect(object.geometry, object.properties, polygon);
			break;
		case 'GeometryCollection':
			for (const geometry of object.geometries) collect(geometry, properties, polygon);
			break;
		case 'Polygon':
			polygon(object.coordinates, properties);
			break;
		case 'MultiPolygon':
			if (Array.isArray(object.coordinates)) for (const rings of object.coordinates) polygon(rings, properties);
			else polygon(object.coordinates, properties);
			break;
		default:
			break;
	}
}

/** One polygon's rings mended, or null and the faults. */
function mendRings(rings: unknown, mends: Set<string>, faults: BoundaryFault[]): Position[][] | null {
	if (!Array.isArray(rings) || rings.length === 0) {
		faults.push({ found: short(rings), why: '"coordinates" of a polygon must be a list of rings' });
		return null;
	}
	const before = faults.length;
	const mended: Position[][] = [];
	rings.forEach((ring: unknown, r) => {
		const positions = positionsOf(ring, faults);
		if (positions === null || !extentFits(positions, faults)) return;
		const single = positions.filter((p, i) => i === 0 || !samePlace(p, positions[i - 1] as Position));
		const [first] = single;
		if (first && !samePlace(first, single[single.length - 1] as Position)) {
			single.push([...first]);
			mends.add('an open ring was closed');
		}
		if (single.length < 4) {
			faults.push({
				found: `${Math.max(0, single.length - 1)} different points`,
				why: 'expected at least three corners in a ring',
			});
			return;
		}
		if (flat(single)) {
			faults.push({ found: `${single.length - 1} points on one line`, why: 'a ring without area' });
			return;
		}
		// RFC 7946, 3.1.6: outer rings run counterclockwise, holes clockwise.
		if (twiceArea(single) > 0 !== (r === 0)) {
			single.reverse();
			mends.add(
				r === 0 ? 'an outer ring that ran clockwise was turned' : 'a hole that ran counterclockwise was turned',
			);
		}
		mended.push(single);
	});
	if (faults.length > before) return null;
	const place = crossing(mended);
	if (place !== null) {
		faults.push({
			found: `near ${place[0]}, ${place[1]} (lon, lat)`,
			why: 'the boundary crosses itself; draw it without crossing lines',
		});
		return null;
	}
	for (const ring of mended) {
		const area_m2 = Math.abs(areaOf(ring));
		if (area_m2 < LEAST_M2) faults.push({ found: `${area_m2.toFixed(2)} m²`, why: 'a ring without area' });
		if (area_m2 > MOST_M2) {
			faults.push({ found: `${Math.round(area_m2 / 1e4)} ha`, why: 'larger than a county, so not a field' });
		}
	}
	const [outer = 0, ...holes] = mended.map((ring) => Math.abs(areaOf(ring)));
	if (faults.length === before && outer - holes.reduce((a, b) => a + b, 0) < LEAST_M2) {
		faults.push({ found: `${holes.length} holes`, why: 'a polygon without area: its holes take all of it' });
	}
	return faults.length > before ? null : mended;
}

/** True where all points lie on one line, to a millimeter or so. */
function flat(ring: readonly Position[]): boolean {
	const [ox, oy] = ring[0] as [number, number];
	let [fx, fy] = [0, 0];
	for (const [x, y] of ring as [number, number][]) {
		if (Math.hypot(x - ox, y - oy) > Math.hypot(fx, fy)) [fx, fy] = [x - ox, y - oy];
	}
	const far = Math.hypot(fx, fy);
	return ring.every(([x, y]) => Math.abs(((x as number) - ox) * fy - ((y as number) - oy) * fx) <= 1e-8 * far);
}

/** A square meter; what is left of rounding where all points lie on one line is far below it. */
const LEAST_M2 = 1;
/** The size of a county of the Corn Belt. */
const MOST_M2 = 160_000e4;
/** UTM ends here. */
const NORTH_DEG = 84;
const SOUTH_DEG = -80;
const M_PER_DEG = 111_195;

function extentFits(ring: readonly Position[], faults: BoundaryFault[]): boolean {
	const lons = ring.map((p) => p[0] as number);
	const lats = ring.map((p) => p[1] as number);
	// Not spread into arguments: a ring may have any number of points.
	const least = (values: number[]) => values.reduce((a, b) => Math.min(a, b), Number.POSITIVE_INFINITY);
	const most = (values: number[]) => values.reduce((a, b) => Math.max(a, b), Number.NEGATIVE_INFINITY);
	const [south, north, wide] = [least(lats), most(lats), most(lons) - least(lons)];
	if (north > NORTH_DEG || south < SOUTH_DEG) {
		faults.push({
			found: `latitude ${north > NORTH_DEG ? north : south}`,
			why: `near or over a pole: latitudes from ${-SOUTH_DEG}° south to ${NORTH_DEG}° north are accepted`,
		});
		return false;
	}
	if (wide > 180) {
		faults.push({ found: `${wide}° of longitude`, why: 'the boundary reaches around the globe or over a pole' });
		return false;
	}
	return true;
}

/** Area on the sphere, as if flat about its middle; square meters, signed. */
function areaOf(ring: readonly Position[]): number {
	const middle = ring.reduce((sum, p) => sum + (p[1] as number), 0) / ring.length;
	return (twiceArea(ring) / 2) * M_PER_DEG * M_PER_DEG * Math.cos((middle * Math.PI) / 180);
}

function positionsOf(ring: unknown, faults: BoundaryFault[]): Position[] | null {
	if (!Array.isArray(ring)) {
		faults.push({ found: short(ring), why: 'a ring must be a list of positions [lon, lat]' });
		return null;
	}
	const positions: Position[] = [];
	for (const position of ring as unknown[]) {
		const [lon, lat] = Array.isArray(position) ? (position as unknown[]) : [];
		if (typeof lon !== 'number' || typeof lat !== 'number' || !Number.isFinite(lon) || !Number.isFinite(lat)) {
			faults.push({ found: short(position), why: 'a position must be two numbers [lon, lat]' });
			return null;
		}
		if (Math.abs(lat) > 90 || Math.abs(lon) > 180) {
			faults.push({
				found: `[${lon}, ${lat}]`,
				why: 'a position must be [lon, lat] in WGS 84 degrees: latitude within ±90, longitude within ±180',
			});
			return null;
		}
		positions.push([lon, lat]);
	}
	return positions;
}

function samePlace(a: Position, b: Position): boolean {
	return a[0] === b[0] && a[1] === b[1];
}

function twiceArea(ring: readonly Position[]): number {
	let sum = 0;
	const [ox, oy] = ring[0] as [number, number];
	for (let i = 0; i + 1 < ring.length; i++) {
		const [ax, ay] = ring[i] as [number, number];
		const [bx, by] = ring[i + 1] as [number, number];
		sum += (ax - ox) * (by - oy) - (bx - ox) * (ay - oy);
	}
	return sum;
}

function short(value: unknown): string {
	const text =
		value === undefined ? 'nothing' : typeof value === 'string' ? value : (JSON.stringify(value) ?? String(value));
	return text.length > 60 ? `${text.slice(0, 57)}…` : text;
}
