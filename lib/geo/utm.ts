/**
 * Universal transverse Mercator on WGS 84: which zone, degrees to meters and back over whole columns, and the
 * point scale that turns grid meters into meters on the ellipsoid. The projection itself is proj4's.
 */

import proj4 from 'proj4';
import type { Zone } from '../model/index.ts';

/** Scale on the central meridian. */
const K0 = 0.9996;
/** WGS 84: semi-major axis, meters, and flattening. */
const A_M = 6378137;
const F = 1 / 298.257223563;

/**
 * Zone of a place: six-degree strips counted from 180° W, without the wider strips of Norway and Svalbard, where the
 * regular zones are accurate enough for a field.
 *
 * @param lon_deg - WGS 84 longitude
 * @param lat_deg - WGS 84 latitude
 */
export function utmZone(lon_deg: number, lat_deg: number): Zone {
	const turned = ((((lon_deg + 180) % 360) + 360) % 360) - 180;
	const number = Math.min(60, Math.floor((turned + 180) / 6) + 1);
	const south = lat_deg < 0;
	return { number, south, epsg: (south ? 32700 : 32600) + number };
}

/** Middle of a field, for choosing its zone: medians, so that stray positions do not matter. NaN without positions. */
export function medianPlace(lon_deg: Float64Array, lat_deg: Float64Array): { lon_deg: number; lat_deg: number } {
	const good = new Float64Array(lon_deg.length);
	const middle = (values: Float64Array) => {
		let n = 0;
		for (let i = 0; i < values.length; i++) if (Number.isFinite(values[i]!)) good[n++] = values[i]!;
		return n === 0 ? Number.NaN : good.subarray(0, n).sort()[n >> 1]!;
	};
	return { lon_deg: middle(lon_deg), lat_deg: middle(lat_deg) };
}

/** Degrees of WGS 84 to meters of one UTM zone and back. */
export interface Projection {
	zone: Zone;
	/** One place: [x, y] in meters; NaN in gives NaN out. */
	forward(lon_deg: number, lat_deg: number): [number, number];
	/** One place: [longitude, latitude] in degrees; NaN in gives NaN out. */
	inverse(x_m: number, y_m: number): [number, number];
	/** Whole columns; NaN in gives NaN out. */
	forwardAll(lon_deg: Float64Array, lat_deg: Float64Array): { x_m: Float64Array; y_m: Float64Array };
	/** Whole columns; NaN in gives NaN out. */
	inverseAll(x_m: Float64Array, y_m: Float64Array): { lon_deg: Float64Array; lat_deg: Float64Array };
	/** Point scale: grid length / length on the ellipsoid. Grid area is its square times the true area. */
	scale(x_m: number, y_m: number): number;
	/** Meridian convergence, radians: grid bearing = true bearing − convergence. */
	convergence_rad(x_m: number, y_m: number): number;
}

/** Projection of a zone. */
export function utmProjection(zone: Zone): Projection {
	const south = zone.south ? ' +south' : '';
	const converter = proj4('EPSG:4326', `+proj=utm +zone=${zone.number}${south} +datum=WGS84 +units=m +no_defs`);
	const forward = (lon_deg: number, lat_deg: number): [number, number] => {
		if (!Number.isFinite(lon_deg + lat_deg)) return [Number.NaN, Number.NaN];
		const [x, y] = converter.forward([lon_deg, lat_deg]);
		return [x, y];
	};
	const inverse = (x_m: number, y_m: number): [number, number] => {
		if (!Number.isFinite(x_m + y_m)) return [Number.NaN, Number.NaN];
		const [lon, lat] = converter.inverse([x_m, y_m]);
		return [lon, lat];
	};
	const convergence_rad = (x_m: number, y_m: number) => {
		const [lon, lat] = inverse(x_m, y_m);
		const central = zone.number * 6 - 183;
		return Math.atan(Math.tan(((lon - central) * Math.PI) / 180) * Math.sin((lat * Math.PI) / 180));
	};
	return {
		zone,
		forward,
		inverse,
		forwardAll(lon_deg, lat_deg) {
			const [x_m, y_m] = mapColumns(lon_deg, lat_deg, forward);
			return { x_m, y_m };
		},
		inverseAll(x_m, y_m) {
			const [lon_deg, lat_deg] = mapColumns(x_m, y_m, inverse);
			return { lon_deg, lat_deg };
		},
		scale(x_m, y_m) {
			// Series in (easting − 500 km)/(k0·R), R² = ρν: Snyder, Map Projections: A Working Manual (USGS
			// Professional Paper 1395), eq. 8-11 in rectangular coordinates; the fourth-order term included.
			const [, lat] = inverse(x_m, y_m);
			const sin = Math.sin((lat * Math.PI) / 180);
			const e2 = F * (2 - F);
			const w = 1 - e2 * sin * sin;
			const rho_nu = (A_M * A_M * (1 - e2)) / (w * w);
			const q = ((x_m - 500_000) / K0) ** 2 / rho_nu;
			return K0 * (1 + q / 2 + (q * q) / 24);
		},
		convergence_rad,
	};
}

function mapColumns(
	a: Float64Array,
	b: Float64Array,
	map: (a: number, b: number) => [number, number],
): [Float64Array, Float64Array] {
	const outA = new Float64Array(a.length).fill(Number.NaN);
	const outB = new Float64Array(a.length).fill(Number.NaN);
	for (let i = 0; i < a.length; i++) {
		if (!Number.isFinite(a[i]!) || !Number.isFinite(b[i]!)) continue;
		[outA[i], outB[i]] = map(a[i]!, b[i]!);
	}
	return [outA, outB];
}
