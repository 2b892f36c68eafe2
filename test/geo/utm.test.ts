import { execFileSync } from 'node:child_process';
import proj4 from 'proj4';
import { describe, expect, it } from 'vitest';
import { medianPlace, utmProjection, utmZone } from '../../lib/geo/utm.ts';

const cs2cs = (() => {
	try {
		execFileSync('cs2cs', { stdio: 'ignore', input: '' });
		return true;
	} catch {
		return false;
	}
})();

describe('transverse Mercator', () => {
	it('gives the worked example of EPSG Guidance Note 7-2 (method 9807)', () => {
		// OSGB 1936 / British National Grid, 50°30′N 0°30′E → E 577 274.99, N 69 740.50; Airy 1830.
		const grid =
			'+proj=tmerc +lat_0=49 +lon_0=-2 +k=0.9996012717 +x_0=400000 +y_0=-100000 +a=6377563.396 +rf=299.32496 +units=m';
		const [x, y] = proj4('+proj=longlat +a=6377563.396 +rf=299.32496', grid, [0.5, 50.5]) as [number, number];
		// Stated to the centimeter, by a series.
		expect(Math.abs(x - 577274.99)).toBeLessThan(0.01);
		expect(Math.abs(y - 69740.5)).toBeLessThan(0.01);
	});

	it.skipIf(!cs2cs)('agrees with cs2cs to a tenth of a millimetre, north and south (skipped without proj-bin)', () => {
		for (const [lon, lat] of [
			[-93.97842, 43.927265],
			[-93.96, 43.93],
			[11.2, 52.1],
			[-60.9, -33.2],
			[179.9, -44.1],
		] as const) {
			const zone = utmZone(lon, lat);
			const out = execFileSync('cs2cs', ['-f', '%.5f', 'EPSG:4326', `EPSG:${zone.epsg}`], {
				input: `${lat} ${lon}\n`,
				encoding: 'utf8',
			});
			const [x, y] = out.trim().split(/\s+/).map(Number) as [number, number];
			const ours = utmProjection(zone).forward(lon, lat);
			expect(Math.hypot(ours[0] - x, ours[1] - y)).toBeLessThan(1e-4);
		}
	});

	it('comes back to where it started, over whole columns, and keeps what is missing missing', () => {
		const projection = utmProjection(utmZone(-93.5, 42));
		const lon = Float64Array.from([-93.5, -93.4, Number.NaN, -93.45]);
		const lat = Float64Array.from([42, 42.1, 42, Number.NaN]);
		const { x_m, y_m } = projection.forwardAll(lon, lat);
		const back = projection.inverseAll(x_m, y_m);
		for (const i of [0, 1]) {
			expect(back.lon_deg[i]).toBeCloseTo(lon[i]!, 9);
			expect(back.lat_deg[i]).toBeCloseTo(lat[i]!, 9);
		}
		expect([x_m[2], y_m[2], x_m[3], y_m[3]].every(Number.isNaN)).toBe(true);
	});

	it('knows its own scale and convergence: small steps on the ellipsoid against steps on the grid', () => {
		const projection = utmProjection(utmZone(-91, 45));
		for (const [lon, lat] of [
			[-93, 45],
			[-95.9, 60],
			[-90.01, 10],
		] as const) {
			const [x, y] = projection.forward(lon, lat);
			const [px, py] = projection.forward(lon, lat + 1e-4);
			const [qx, qy] = projection.forward(lon, lat - 1e-4);
			// Radius of the meridian, WGS 84.
			const e2 = (1 / 298.257223563) * (2 - 1 / 298.257223563);
			const sin = Math.sin((lat * Math.PI) / 180);
			const meridian_m = ((6378137 * (1 - e2)) / (1 - e2 * sin * sin) ** 1.5) * ((2e-4 * Math.PI) / 180);
			expect(projection.scale(x, y)).toBeCloseTo(Math.hypot(px - qx, py - qy) / meridian_m, 6);
			// True north bears −convergence on the grid.
			expect(Math.atan2(px - qx, py - qy)).toBeCloseTo(-projection.convergence_rad(x, y), 6);
		}
	});
});

describe('zones', () => {
	it('counts six-degree strips from 180° W', () => {
		expect(utmZone(-180, 1).number).toBe(1);
		expect(utmZone(-93.97, 43.9)).toEqual({ number: 15, south: false, epsg: 32615 });
		expect(utmZone(-60.9, -33.2)).toEqual({ number: 20, south: true, epsg: 32720 });
		expect(utmZone(179.99, 0).number).toBe(60);
		expect(utmZone(180, 0).number).toBe(1);
	});

	it('is not led astray by a stray position', () => {
		const place = medianPlace(Float64Array.of(0, 11.2, 11.3, 11.25, Number.NaN), Float64Array.of(0, 52, 52, 52, 52));
		expect(place.lon_deg).toBeGreaterThan(11);
	});
});
