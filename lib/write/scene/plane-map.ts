import { Matrix, solve } from 'ml-matrix';
import type { Projection } from '../../geo/utm.ts';

/** From UTM meters to the scene's plane: meters east and south of an origin, web Mercator scaled to true length. */
export interface PlaneMap {
	origin: { lon_deg: number; lat_deg: number };
	/** NaN gives NaN. `into` avoids an allocation. */
	local(x_m: number, y_m: number, into?: [number, number]): [number, number];
}

const EARTH_M = 2 * Math.PI * 6378137;
const mercatorX = (lon_deg: number) => (180 + lon_deg) / 360;
const mercatorY = (lat_deg: number) =>
	(180 - (180 / Math.PI) * Math.log(Math.tan(Math.PI / 4 + (lat_deg * Math.PI) / 360))) / 360;

/**
 * Millions of corners go through this, so only 49 places of the field are projected, and a cubic in both directions
 * interpolates the rest: over 20 km it stays within a millimeter.
 *
 * @param extent_m - [minX, minY, maxX, maxY] of the field, UTM
 */
export function planeMap(projection: Projection, extent_m: [number, number, number, number]): PlaneMap {
	const [x0, y0, x1, y1] = extent_m;
	const midX = (x0 + x1) / 2;
	const midY = (y0 + y1) / 2;
	// A little beyond the field, and never so small that the fit follows rounding errors.
	const half = Math.max(500, 0.6 * (x1 - x0), 0.6 * (y1 - y0));
	const [lon_deg, lat_deg] = projection.inverse(midX, midY);
	const meters = EARTH_M * Math.cos((lat_deg * Math.PI) / 180);
	const rows: number[][] = [];
	const values: number[][] = [];
	for (let i = -3; i <= 3; i++) {
		for (let j = -3; j <= 3; j++) {
			const [lon, lat] = projection.inverse(midX + (i / 3) * half, midY + (j / 3) * half);
			rows.push(terms(i / 3, j / 3));
			values.push([(mercatorX(lon) - mercatorX(lon_deg)) * meters, (mercatorY(lat) - mercatorY(lat_deg)) * meters]);
		}
	}
	const fit = solve(new Matrix(rows), new Matrix(values));
	const a = fit.getColumn(0);
	const b = fit.getColumn(1);
	const cubic = (k: number[], u: number, v: number) =>
		k[0]! +
		u * (k[1]! + u * (k[3]! + u * k[6]!)) +
		v * (k[2]! + v * (k[5]! + v * k[9]!)) +
		u * v * (k[4]! + u * k[7]! + v * k[8]!);
	return {
		origin: { lon_deg, lat_deg },
		local(x_m, y_m, into = [0, 0]) {
			const u = (x_m - midX) / half;
			const v = (y_m - midY) / half;
			into[0] = cubic(a, u, v);
			into[1] = cubic(b, u, v);
			return into;
		},
	};
}

const terms = (u: number, v: number) => [1, u, v, u * u, u * v, v * v, u * u * u, u * u * v, u * v * v, v * v * v];
