/// <reference path="./geojson-validation.d.ts" />
import type { Feature, FeatureCollection, Geometry, MultiPolygon, Polygon, Position } from 'geojson';
import validation from 'geojson-validation';
import { excerpt } from '../model/index.ts';
import { type BoundaryFault, mendRings } from './mend-ring.ts';

/** A valid boundary and the repairs made to it, or its faults. */
export type Mended =
	| { polygon: Polygon | MultiPolygon; mends: string[]; faults: [] }
	| { polygon: null; mends: string[]; faults: BoundaryFault[] };
/** One polygon of a file with the properties of its feature. */
export interface MendedPart {
	rings: Position[][];
	properties: Record<string, unknown> | null;
}

/** The types of RFC 7946; the validation library fails on any other. */
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

/** Deepest nesting of objects accepted. */
const DEEPEST = 8;

/**
 * Checks and repairs a field's boundary from GeoJSON (RFC 7946, WGS 84): any object with polygons. Rings are closed,
 * outer ones turned counterclockwise and holes clockwise, repeated points dropped; all repairs are listed. A ring that
 * crosses itself, a position off the globe, and an unknown type are faults.
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

/** The polygons of any GeoJSON object, each checked and repaired. */
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
		faults.push({ found: excerpt(value), why: 'expected a GeoJSON object' });
		return;
	}
	const object = value as Record<string, unknown>;
	if (!TYPES.has(object.type)) {
		faults.push({ found: excerpt(object.type), why: `"type" must be one of ${[...TYPES].join(', ')}` });
		return;
	}
	if (depth > DEEPEST) {
		faults.push({ found: `${depth} levels`, why: 'the objects are nested too deeply' });
		return;
	}
	for (const key of ['features', 'geometries']) {
		if ((object.type === 'FeatureCollection') !== (key === 'features')) continue;
		if (object.type !== 'FeatureCollection' && object.type !== 'GeometryCollection') continue;
		if (!Array.isArray(object[key])) faults.push({ found: excerpt(object[key]), why: `"${key}" must be a list` });
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
