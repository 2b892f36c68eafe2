import { Clipper, ClipType, FillRule, type Path64, type PolyPath64, PolyTree64 } from 'clipper2-ts';
import type { MultiPolygon, Polygon, Position } from 'geojson';

/** Grid steps per degree for clipping: about 0.1 mm, with exact products over spans of 5 km. */
const STEP_DEG = 1e-9;

/**
 * The part of a shape within an outline, WGS 84; null where there is none. Edges are straight in degrees, which over a
 * field differs from straight on the ground by less than a centimeter.
 *
 * Polygon by polygon, against the parts of the outline near it: the time of one cut grows faster than its corners.
 */
export function within(shape: MultiPolygon, outline: Polygon | MultiPolygon): MultiPolygon | null {
	const parts = outline.type === 'Polygon' ? [outline.coordinates] : outline.coordinates;
	const [west, south] = parts[0]?.[0]?.[0] ?? [0, 0];
	const onGrid = (ring: Position[]): Path64 =>
		ring.map(([lon, lat]) => ({ x: Math.round((lon! - west!) / STEP_DEG), y: Math.round((lat! - south!) / STEP_DEG) }));
	const toDegrees = (path: PolyPath64): Position[] => {
		const ring = path.polygon!.map(({ x, y }): Position => [west! + x * STEP_DEG, south! + y * STEP_DEG]);
		return [...ring, ring[0]!];
	};
	const coordinates: Position[][][] = [];
	const take = (outer: PolyPath64): void => {
		const polygon = [toDegrees(outer)];
		coordinates.push(polygon);
		for (let h = 0; h < outer.count; h++) {
			const hole = outer.child(h);
			polygon.push(toDegrees(hole));
			for (let i = 0; i < hole.count; i++) take(hole.child(i));
		}
	};
	const gridded = parts.map((rings) => ({ box: boxOf(rings[0]!), paths: rings.map(onGrid) }));
	for (const rings of shape.coordinates) {
		const box = boxOf(rings[0]!);
		const near = gridded.filter((part) => meet(part.box, box)).flatMap((part) => part.paths);
		if (near.length === 0) continue;
		const tree = new PolyTree64();
		Clipper.booleanOpWithPolyTree(ClipType.Intersection, rings.map(onGrid), near, tree, FillRule.EvenOdd);
		for (let k = 0; k < tree.count; k++) take(tree.child(k));
	}
	return coordinates.length === 0 ? null : { type: 'MultiPolygon', coordinates };
}

type Box = [west: number, south: number, east: number, north: number];

function boxOf(ring: Position[]): Box {
	const box: Box = [Infinity, Infinity, -Infinity, -Infinity];
	for (const [lon, lat] of ring) {
		box[0] = Math.min(box[0], lon!);
		box[1] = Math.min(box[1], lat!);
		box[2] = Math.max(box[2], lon!);
		box[3] = Math.max(box[3], lat!);
	}
	return box;
}

function meet(a: Box, b: Box): boolean {
	return a[0] <= b[2] && b[0] <= a[2] && a[1] <= b[3] && b[1] <= a[3];
}
