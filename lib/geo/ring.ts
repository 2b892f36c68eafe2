/** Rings, areas and point-in-polygon tests, in the plane of a UTM zone and on the ellipsoid. */
import type { MultiPolygon, Polygon, Position } from 'geojson';
import type { Projection } from './utm.ts';

/** A polygon's rings as flat x, y pairs in meters (closed or not). */
export type Rings = Float64Array[];

/** A ring's positions as flat x, y pairs, without heights. */
export const flatRing = (ring: readonly Position[]): Float64Array =>
	Float64Array.from(ring.flatMap(([x, y]) => [x!, y!]));

/** Signed area of a ring, m² (shoelace): positive counterclockwise. `ring` holds x, y pairs. */
export function ringArea_m2(ring: Float64Array): number {
	const n = ring.length / 2;
	if (n < 3) return 0;
	// Relative to the first corner, since products of large UTM northings would lose digits.
	const x0 = ring[0]!;
	const y0 = ring[1]!;
	let sum = 0;
	for (let i = 0; i < n; i++) {
		const j = (i + 1) % n;
		sum += (ring[2 * i]! - x0) * (ring[2 * j + 1]! - y0) - (ring[2 * j]! - x0) * (ring[2 * i + 1]! - y0);
	}
	return sum / 2;
}

/** Rings of every polygon of a WGS 84 outline, projected: x, y pairs in meters. */
export function projectRings(outline: Polygon | MultiPolygon, projection: Projection): Rings {
	return polygonsOf(outline)
		.flat()
		.map((ring) => projected(ring, projection));
}

const projected = (ring: readonly Position[], { forward }: Projection): Float64Array =>
	Float64Array.from(ring.flatMap(([x, y]) => forward(x!, y!)));

/** Area on the ellipsoid, m²: the planar area of each ring divided by the squared point scale at its middle. */
export function outlineArea_m2(outline: Polygon | MultiPolygon, projection: Projection): number {
	let total = 0;
	for (const polygon of polygonsOf(outline)) {
		polygon.forEach((ring, k) => {
			const flat = projected(ring, projection);
			const [x, y] = middle(flat);
			const area = Math.abs(ringArea_m2(flat)) / projection.scale(x, y) ** 2;
			total += k === 0 ? area : -area;
		});
	}
	return total;
}

/** True where the place is inside by the even–odd rule over all rings, so that holes are outside. */
export function insideRings(rings: Rings, x_m: number, y_m: number): boolean {
	let inside = false;
	for (const ring of rings) {
		const n = ring.length / 2;
		for (let i = 0, j = n - 1; i < n; j = i++) {
			const xi = ring[2 * i]!;
			const yi = ring[2 * i + 1]!;
			const xj = ring[2 * j]!;
			const yj = ring[2 * j + 1]!;
			if (yi > y_m !== yj > y_m && x_m < ((xj - xi) * (y_m - yi)) / (yj - yi) + xi) inside = !inside;
		}
	}
	return inside;
}

/** Distance from a place to the nearest edge of any ring, meters. */
export function edgeDistance_m(rings: Rings, x_m: number, y_m: number): number {
	let best = Infinity;
	for (const ring of rings) {
		const n = ring.length / 2;
		for (let i = 0, j = n - 1; i < n; j = i++) {
			const ax = ring[2 * j]!;
			const ay = ring[2 * j + 1]!;
			const dx = ring[2 * i]! - ax;
			const dy = ring[2 * i + 1]! - ay;
			const length2 = dx * dx + dy * dy;
			const s = length2 > 0 ? Math.min(1, Math.max(0, ((x_m - ax) * dx + (y_m - ay) * dy) / length2)) : 0;
			best = Math.min(best, Math.hypot(x_m - ax - s * dx, y_m - ay - s * dy));
		}
	}
	return best;
}

/** The polygons of an outline: each its rings, the outer one first. */
export function polygonsOf(outline: Polygon | MultiPolygon): Position[][][] {
	return outline.type === 'Polygon' ? [outline.coordinates] : outline.coordinates;
}

function middle(flat: Float64Array): [number, number] {
	let x = 0;
	let y = 0;
	const n = flat.length / 2;
	for (let i = 0; i < n; i++) {
		x += flat[2 * i]!;
		y += flat[2 * i + 1]!;
	}
	return [x / n, y / n];
}
