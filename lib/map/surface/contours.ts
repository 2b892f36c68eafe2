import { ticks } from 'd3-array';
import { within } from '../../geo/clip.ts';
import { utmProjection } from '../../geo/utm.ts';
import type { Contours, Surface, Track } from '../../model/index.ts';
import { yieldBands } from '../legend/bands.ts';

/**
 * Bands between round levels that span the middle 96 % of cells, clipped at the field's outline. They are drawn on
 * weighted means of each cell with its neighbors, so that lines do not follow the errors of single cells.
 */
export function fieldContours({ surface, track }: { surface: Surface; track: Track }): Contours {
	const sorted = surface.yield_kg_ha.filter(Number.isFinite).sort();
	if (sorted.length === 0) return [];
	const at = (q: number) => sorted[Math.round(q * (sorted.length - 1))]!;
	const inner = ticks(at(0.02), at(0.98), 7);
	const levels = [
		Math.min(Math.floor(sorted[0]!), (inner[0] ?? sorted[0]!) - 1),
		...inner,
		Math.max(Math.ceil(sorted[sorted.length - 1]!), (inner.at(-1) ?? sorted[0]!) + 1),
	];
	const bands = yieldBands(surface, softened(surface), levels, utmProjection(track.zone));
	const { outline } = track;
	if (outline === null) return bands;
	return bands.flatMap((band) => {
		const geometry = within(band.geometry, outline);
		return geometry === null ? [] : [{ ...band, geometry }];
	});
}

/** Each cell's mean with the surrounding cells that have a value, weighted 4, 2, 1 by distance. */
function softened({ columns, rows, yield_kg_ha }: Surface): Float32Array {
	const out = new Float32Array(yield_kg_ha.length).fill(Number.NaN);
	for (let r = 0; r < rows; r++) {
		for (let c = 0; c < columns; c++) {
			if (!Number.isFinite(yield_kg_ha[r * columns + c]!)) continue;
			let sum = 0;
			let weight = 0;
			for (let i = Math.max(0, r - 1); i <= Math.min(rows - 1, r + 1); i++) {
				for (let j = Math.max(0, c - 1); j <= Math.min(columns - 1, c + 1); j++) {
					const v = yield_kg_ha[i * columns + j]!;
					if (!Number.isFinite(v)) continue;
					const w = 4 >> (Math.abs(i - r) + Math.abs(j - c));
					sum += w * v;
					weight += w;
				}
			}
			out[r * columns + c] = sum / weight;
		}
	}
	return out;
}
