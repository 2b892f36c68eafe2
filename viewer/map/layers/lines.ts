/** Lines over the map: outline, seams colored by their difference, contours, the tool's drawing. */
import type { FeatureCollection } from 'geojson';
import type { Map as MapLibre } from 'maplibre-gl';
import type { Scene } from '../../../lib/model/index.ts';
import { css, diverging } from './color.ts';
import type { Plane } from './plane.ts';

/** Log difference of a seam at the end of the color scale. */
export const SEAM_SPAN = 0.2;

const nothing: FeatureCollection = { type: 'FeatureCollection', features: [] };

export function linesOf(map: MapLibre, s: Scene, plane: Plane): void {
	map.addSource('contours', { type: 'geojson', data: nothing });
	map.addLayer({
		id: 'contours',
		type: 'line',
		source: 'contours',
		layout: { visibility: 'none' },
		paint: { 'line-width': 0.8, 'line-opacity': 0.75 },
	});
	map.addSource('seams', {
		type: 'geojson',
		data: {
			type: 'FeatureCollection',
			// Seams within one combine are not shown; they only calibrate the comparison.
			features: s.facts.seams.flatMap((seam, i) =>
				seam.combineA === seam.combineB
					? []
					: [
							{
								type: 'Feature' as const,
								properties: {
									seam: i,
									a: Math.min(seam.combineA, seam.combineB),
									b: Math.max(seam.combineA, seam.combineB),
									compared: seam.log_jump !== null,
									color: css(diverging(0.5 + (seam.log_jump ?? 0) / (2 * SEAM_SPAN))),
								},
								geometry: {
									type: 'LineString' as const,
									coordinates: seam.line_m.map(([x, y]) => plane.toDegrees(x, y)),
								},
							},
						],
			),
		},
	});
	map.addLayer({
		id: 'seam-edge',
		type: 'line',
		source: 'seams',
		layout: { visibility: 'none', 'line-cap': 'round' },
		paint: { 'line-width': ['case', ['get', 'compared'], 5, 2] },
	});
	map.addLayer({
		id: 'seams',
		type: 'line',
		source: 'seams',
		layout: { visibility: 'none', 'line-cap': 'round' },
		paint: { 'line-width': ['case', ['get', 'compared'], 3, 1], 'line-color': ['get', 'color'] },
	});
	map.addLayer({
		id: 'seam-lit',
		type: 'line',
		source: 'seams',
		layout: { 'line-cap': 'round' },
		filter: ['==', ['get', 'seam'], -1],
		paint: { 'line-width': 4 },
	});
	map.addSource('outline', {
		type: 'geojson',
		data: s.facts.outline ? { type: 'Feature', properties: {}, geometry: s.facts.outline } : nothing,
	});
	map.addLayer({ id: 'outline', type: 'line', source: 'outline', paint: { 'line-width': 1.4 } });
	map.addSource('drawn', { type: 'geojson', data: nothing });
	map.addLayer({ id: 'drawn', type: 'line', source: 'drawn', paint: { 'line-width': 2, 'line-dasharray': [3, 2] } });
}

/** A record's ground as a closed ring in degrees. */
export function ringOf(s: Scene, plane: Plane, record: number): [number, number][] {
	const ring: [number, number][] = [];
	for (let c = 0; c < 5; c++) {
		const k = 8 * record + 2 * (c % 4);
		ring.push(plane.toDegrees(s.corners_m[k]!, s.corners_m[k + 1]!));
	}
	return ring;
}
