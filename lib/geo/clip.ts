import { Clipper, ClipType, FillRule, type Path64, type PolyPath64, PolyTree64 } from 'clipper2-ts';
import type { MultiPolygon, Polygon, Position } from 'geojson';

/** Steps of a degree that corners are clipped on: about 0.1 mm, and products of two spans of 200 km stay exact. */
const STEP_DEG = 1e-9;

/**
 * The part of a shape that lies within an outline, WGS 84; null where none does. Straight edges in degrees: across a
 * field they stray from those on the ground by less than a centimeter.
 */
export function within(shape: MultiPolygon, outline: Polygon | MultiPolygon): MultiPolygon | null {
	const rings = (geometry: Polygon | MultiPolygon) =>
		geometry.type === 'Polygon' ? geometry.coordinates : geometry.coordinates.flat();
	const [west, south] = rings(outline)[0]?.[0] ?? [0, 0];
	const onGrid = (ring: Position[]): Path64 =>
		ring.map(([lon, lat]) => ({ x: Math.round((lon! - west!) / STEP_DEG), y: Math.round((lat! - south!) / STEP_DEG) }));
	const tree = new PolyTree64();
	Clipper.booleanOpWithPolyTree(
		ClipType.Intersection,
		rings(shape).map(onGrid),
		rings(outline).map(onGrid),
		tree,
		FillRule.EvenOdd,
	);
	const closed = (path: PolyPath64): Position[] => {
		const ring = path.polygon!.map(({ x, y }): Position => [west! + x * STEP_DEG, south! + y * STEP_DEG]);
		return [...ring, ring[0]!];
	};
	const coordinates: Position[][][] = [];
	const take = (outer: PolyPath64) => {
		const polygon = [closed(outer)];
		coordinates.push(polygon);
		for (let h = 0; h < outer.count; h++) {
			const hole = outer.child(h);
			polygon.push(closed(hole));
			for (let i = 0; i < hole.count; i++) take(hole.child(i));
		}
	};
	for (let k = 0; k < tree.count; k++) take(tree.child(k));
	return coordinates.length === 0 ? null : { type: 'MultiPolygon', coordinates };
}
