/** Conversions between the scene's local meters and degrees. */
import type { Scene } from '../../../lib/model/index.ts';

const EARTH_M = 2 * Math.PI * 6378137;
const mercatorY = (lat_deg: number) =>
	(180 - (180 / Math.PI) * Math.log(Math.tan(Math.PI / 4 + (lat_deg * Math.PI) / 360))) / 360;

export interface Plane {
	toDegrees(x_m: number, y_m: number): [number, number];
	toLocal(lon_deg: number, lat_deg: number): [number, number];
}

export function planeOf(origin: Scene['facts']['origin']): Plane {
	const meters = EARTH_M * Math.cos((origin.lat_deg * Math.PI) / 180);
	const y0 = mercatorY(origin.lat_deg);
	return {
		toDegrees(x_m, y_m) {
			const y = y0 + y_m / meters;
			return [
				origin.lon_deg + (360 * x_m) / meters,
				(360 / Math.PI) * Math.atan(Math.exp(((180 - y * 360) * Math.PI) / 180)) - 90,
			];
		},
		toLocal: (lon_deg, lat_deg) => [((lon_deg - origin.lon_deg) / 360) * meters, (mercatorY(lat_deg) - y0) * meters],
	};
}

/** [west, south, east, north] in degrees of the ground cut, from the middle 99.8 % of corners, so that jumps do not count. */
export function boundsOf(scene: Scene): [number, number, number, number] {
	const xs: number[] = [];
	const ys: number[] = [];
	const step = Math.max(1, Math.floor(scene.n / 20_000));
	for (let i = 0; i < scene.n; i += step) {
		const x = scene.corners_m[8 * i]!;
		if (Number.isNaN(x)) continue;
		xs.push(x);
		ys.push(scene.corners_m[8 * i + 1]!);
	}
	if (xs.length === 0) {
		xs.push(-500, 500);
		ys.push(-500, 500);
	}
	const ends = (values: number[]): [number, number] => {
		values.sort((a, b) => a - b);
		const cut = Math.floor(values.length / 1000);
		return [values[cut]! - 15, values[values.length - 1 - cut]! + 15];
	};
	const [x0, x1] = ends(xs);
	const [y0, y1] = ends(ys);
	const plane = planeOf(scene.facts.origin);
	const [west, north] = plane.toDegrees(x0, y0);
	const [east, south] = plane.toDegrees(x1, y1);
	return [west, south, east, north];
}
