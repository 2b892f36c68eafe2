import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { fieldContours } from '../../lib/map/index.ts';
import { plot, surfaceOf } from './plot.ts';

const VALID = 'SELECT SUM(ST_IsValid(geometry)) AS valid, COUNT(*) AS all_of FROM bands';
const room = mkdtempSync(join(tmpdir(), 'bands-'));
const ogr = (file: string) =>
	execFileSync('ogrinfo', ['-ro', '-q', file, '-dialect', 'sqlite', '-sql', VALID], {
		encoding: 'utf8',
		stdio: 'pipe',
	});
const square = (ring: number[][]) => ({
	type: 'FeatureCollection',
	name: 'bands',
	features: [{ type: 'Feature', properties: {}, geometry: { type: 'MultiPolygon', coordinates: [[ring]] } }],
});

/** GDAL is there, its SQL knows ST_IsValid, and it tells a bow tie from a square. */
const able = (() => {
	try {
		const tie = [0, 0, 1, 1, 1, 0, 0, 1, 0, 0];
		writeFileSync(
			join(room, 'tie.geojson'),
			JSON.stringify(square([0, 1, 2, 3, 4].map((k) => tie.slice(2 * k, 2 * k + 2)))),
		);
		return /valid \(Integer\) = 0/.test(ogr(join(room, 'tie.geojson')));
	} catch {
		return false;
	}
})();
if (!able) console.warn('SKIPPED: no GDAL with spatial SQL here (gdal-bin); bands are not checked by it');

it.skipIf(!able)('bands are valid polygons to GDAL, in a map with holes and cells that touch at corners', () => {
	const p = plot({ seed: 120, passes: 24, length_m: 240 });
	// Flagged passes crossing each other leave holes and corners.
	for (let i = 0; i < p.records.n; i++) {
		const [x, y] = [p.track.cutX_m[i]! - 500_000, p.track.cutY_m[i]! - 4_900_000];
		if (Math.abs(x - y) < 12 || Math.abs(x + y - 220) < 9) p.track.area_m2[i] = 0;
	}
	const contours = fieldContours({ surface: surfaceOf(p), track: p.track });
	expect(contours.length).toBeGreaterThan(3);
	writeFileSync(
		join(room, 'bands.geojson'),
		JSON.stringify({ type: 'FeatureCollection', name: 'bands', features: contours }),
	);
	const text = ogr(join(room, 'bands.geojson'));
	rmSync(room, { recursive: true });
	expect(text).toMatch(new RegExp(`valid \\(Integer\\) = ${contours.length}\\b`));
});
