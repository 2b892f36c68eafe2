import geodesic from 'geographiclib-geodesic';
import type { Polygon, Position } from 'geojson';
import { describe, expect, it } from 'vitest';
import { boxIndex, pointIndex } from '../../lib/geo/near.ts';
import { harvestedOutline } from '../../lib/geo/outline.ts';
import { edgeDistance_m, insideRings, outlineArea_m2, projectRings, ringArea_m2 } from '../../lib/geo/ring.ts';
import { utmProjection, utmZone } from '../../lib/geo/utm.ts';

function geodesicArea_m2(ring: Position[]): number {
	const polygon = geodesic.Geodesic.WGS84.Polygon(false);
	for (const [lon, lat] of ring.slice(0, -1)) polygon.AddPoint(lat!, lon!);
	return Math.abs(polygon.Compute(false, true).area!);
}

const polygon = (coordinates: Position[][]): Polygon => ({ type: 'Polygon', coordinates });
const field: Position[] = [
	[-95.79, 42.03],
	[-95.782, 42.031],
	[-95.781, 42.036],
	[-95.786, 42.0345],
	[-95.79, 42.03],
];

describe('areas', () => {
	it('equal GeographicLib on the ellipsoid to two parts in a million, at a zone edge too', () => {
		// Three degrees off the central meridian the grid's area alone would be off by some tenths of a per cent.
		const projection = utmProjection(utmZone(-95.79, 42.03));
		const area = outlineArea_m2(polygon([field]), projection);
		expect(Math.abs(area / geodesicArea_m2(field) - 1)).toBeLessThan(2e-6);
		const grid = Math.abs(ringArea_m2(projectRings(polygon([field]), projection)[0]!));
		expect(Math.abs(grid / geodesicArea_m2(field) - 1)).toBeGreaterThan(3e-4);
	});

	it('take holes out', () => {
		const hole: Position[] = [
			[-95.786, 42.032],
			[-95.785, 42.032],
			[-95.785, 42.0327],
			[-95.786, 42.032],
		];
		const projection = utmProjection(utmZone(-95.79, 42.03));
		const expected = geodesicArea_m2(field) - geodesicArea_m2(hole);
		expect(Math.abs(outlineArea_m2(polygon([field, hole]), projection) / expected - 1)).toBeLessThan(3e-6);
		const rings = projectRings(polygon([field, hole]), projection);
		const at = (lon: number, lat: number) => insideRings(rings, ...projection.forward(lon, lat));
		expect(at(-95.7853, 42.0321)).toBe(false);
		expect(at(-95.788, 42.0305)).toBe(true);
		expect(at(-95.78, 42.03)).toBe(false);
	});

	it('measure to the nearest edge', () => {
		const square = [Float64Array.of(0, 0, 10, 0, 10, 10, 0, 10)];
		expect(edgeDistance_m(square, 5, 3)).toBe(3);
		expect(edgeDistance_m(square, 13, 14)).toBe(5);
	});
});

describe('neighbour indexes', () => {
	it('find what a plain search finds', () => {
		const x = Float64Array.from({ length: 200 }, (_, i) => 500_000 + ((i * 37) % 101));
		const y = Float64Array.from({ length: 200 }, (_, i) => 4_800_000 + ((i * 53) % 97));
		x[7] = Number.NaN;
		const plain = [];
		for (let i = 0; i < 200; i++) if (Math.hypot(x[i]! - 500_050, y[i]! - 4_800_040) <= 20) plain.push(i);
		expect([...pointIndex(x, y).within(500_050, 4_800_040, 20)]).toEqual(plain);
		const boxes = Float64Array.from([0, 0, 1, 1, 5, 5, 6, 6, 0.5, 0.5, 5.5, 5.5]);
		expect([...boxIndex(boxes).meeting(0.9, 0.9, 2, 2)]).toEqual([0, 2]);
		expect([...boxIndex(new Float64Array(0)).meeting(0, 0, 1, 1)]).toEqual([]);
	});
});

describe('harvested outline', () => {
	it('closes seams, keeps a real hole and has the area that was cut', () => {
		const projection = utmProjection(utmZone(-93, 42));
		const [x0, y0] = projection.forward(-93, 42);
		const pieces: number[][] = [];
		for (let pass = 0; pass < 20; pass++) {
			for (let s = 0; s < 150; s++) {
				const [x, y] = [pass * 9.3, s * 2];
				// A pond of 60 by 60 m, and seams 0.3 m open.
				if (Math.abs(x - 90) < 30 && Math.abs(y - 150) < 30) continue;
				// Off the squares' own grid, so that no square is just half cut.
				pieces.push([x0 + x, y0 + y * 0.997 + 0.4]);
			}
		}
		const n = pieces.length;
		const all = (v: number) => new Float64Array(n).fill(v);
		const outline = harvestedOutline(
			{
				n,
				x_m: Float64Array.from(pieces, (p) => p[0]!),
				y_m: Float64Array.from(pieces, (p) => p[1]!),
				ux: all(0),
				uy: all(1),
				length_m: all(2),
				width_m: all(9),
			},
			projection,
		)!;
		expect(outline.coordinates.map((rings) => rings.length)).toEqual([2]);
		// Outer: 19 spacings and a header by 300 m. The pond: from pass 6's edge to pass 13's, y 121 to 179.
		const expected = ((19 * 9.3 + 9) * 299.1 - (7 * 9.3 - 9) * 57.8) / projection.scale(x0, y0) ** 2;
		expect(Math.abs(outlineArea_m2(outline, projection) / expected - 1)).toBeLessThan(0.02);
	});
});
