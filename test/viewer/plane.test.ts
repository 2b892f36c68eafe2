/** The scene's plane against the projection itself, and a run made into a scene. */
import { describe, expect, it } from 'vitest';
import { utmProjection, utmZone } from '../../lib/geo/utm.ts';
import { planeMap } from '../../lib/write/scene/plane-map.ts';
import { smallRun } from './sample.ts';

const EARTH_M = 2 * Math.PI * 6378137;
const mercatorY = (lat: number) =>
	(180 - (180 / Math.PI) * Math.log(Math.tan(Math.PI / 4 + (lat * Math.PI) / 360))) / 360;

describe('the plane of a scene', () => {
	it.each([
		[-93.5, 44.2, 2_000],
		[-96.02, 41.3, 12_000],
		[149.1, -35.3, 5_000],
	])('is web Mercator to a tenth of a millimeter at %d, %d over %d m', (lon, lat, width) => {
		const projection = utmProjection(utmZone(lon, lat));
		const [x, y] = projection.forward(lon, lat);
		const plane = planeMap(projection, [x - width / 2, y - width / 2, x + width / 2, y + width / 2]);
		const meters = EARTH_M * Math.cos((plane.origin.lat_deg * Math.PI) / 180);
		for (let k = 0; k < 50; k++) {
			const px = x + width * (((k * 37) % 50) / 50 - 0.5);
			const py = y + width * (((k * 11) % 50) / 50 - 0.5);
			const [plon, plat] = projection.inverse(px, py);
			const [ex, ey] = plane.local(px, py);
			expect(Math.abs(ex - ((plon - plane.origin.lon_deg) / 360) * meters)).toBeLessThan(1e-4);
			expect(Math.abs(ey - (mercatorY(plat) - mercatorY(plane.origin.lat_deg)) * meters)).toBeLessThan(1e-4);
		}
	});
});

describe('a run as a scene', () => {
	it('keeps every record, its fill and its ground', async () => {
		const { run, scene } = await smallRun();
		expect(scene.n).toBe(run.field.records.n);
		// Area of the drawn ground: the quads' own, on the Mercator plane true to 0.1 %.
		let drawn = 0;
		let cut = 0;
		for (let i = 0; i < scene.n; i++) {
			const c = scene.corners_m.subarray(8 * i, 8 * i + 8);
			if (Number.isNaN(c[0]!)) continue;
			let twice = 0;
			for (let a = 0; a < 4; a++) {
				const b = (a + 1) % 4;
				twice += c[2 * a]! * c[2 * b + 1]! - c[2 * b]! * c[2 * a + 1]!;
			}
			drawn += Math.abs(twice) / 2;
			cut += run.track.area_m2[i]!;
		}
		expect(drawn / cut).toBeGreaterThan(0.97);
		expect(drawn / cut).toBeLessThan(1.03);
		// The masses of its fills are those that the alignment has; unloadings between which grain stayed share one.
		const account_kg = new Map<string, number>();
		for (const u of run.match.unloadings) account_kg.set(u.fill, (account_kg.get(u.fill) ?? 0) + u.account_kg);
		expect(scene.facts.fills).toEqual([...account_kg.keys()]);
		for (const [f, name] of scene.facts.fills.entries()) {
			let kg = 0;
			for (let i = 0; i < scene.n; i++) if (scene.fill[i] === f) kg += scene.account_kg[i]!;
			const expected = account_kg.get(name)!;
			if (expected > 100) expect(kg / expected).toBeCloseTo(1, 1);
		}
	});
});
