import { feature, featureCollection, intersect } from '@turf/turf';
import type { MultiPolygon, Polygon, Position } from 'geojson';

/**
 * The part of a shape that lies within an outline, WGS 84; null where none does. Straight edges in degrees: across a
 * field they stray from those on the ground by less than a centimetre.
 */
export function within(shape: MultiPolygon, outline: Polygon | MultiPolygon): MultiPolygon | null {
	const cut = intersect(featureCollection([feature(shape), feature(outline)]))?.geometry;
	if (!cut) return null;
	const coordinates: Position[][][] = cut.type === 'Polygon' ? [cut.coordinates] : cut.coordinates;
	return coordinates.length === 0 ? null : { type: 'MultiPolygon', coordinates };
}
