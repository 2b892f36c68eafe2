import { utmProjection } from '../../geo/utm.ts';
import type { Progress, Records, Surface, Track, Yields } from '../../model/index.ts';
import { hypotenuse } from '../../stats/index.ts';
import type { Weights } from './kriging-weights.ts';
import { type Segments, segmentMeans } from './segments.ts';
import { ASKED } from './strip.ts';

/**
 * The gridded map: an estimate of each cell's mean yield and its standard error, which combines the kriging error with
 * errors that all cells share (factor, moisture). Applies the weights of `krigingWeights` to the records' yields.
 *
 * Cells with less than half their area cut, or without data nearby, stay empty.
 */
export function fieldSurface(
	input: { records: Records; track: Track; yields: Yields; weights: Weights },
	progress: Progress,
): Surface {
	const { records, track, yields, weights } = input;
	const { frame, model, segments } = weights;
	progress.step('surface', 0.9);
	const grid = () => new Float32Array(frame.columns * frame.rows).fill(Number.NaN);
	const surface: Surface = {
		epsg: track.zone.epsg,
		...frame,
		yield_kg_ha: grid(),
		se_kg_ha: grid(),
		common_kg_ha: grid(),
		monitor_kg_ha: grid(),
		spread: model,
		closure: { mass_pct: Number.NaN, area_pct: Number.NaN },
		deblur_gain_pct: weights.gain_pct,
	};
	if (model === null) return surface;
	fill(surface, weights, {
		corrected: segmentMeans(segments, track, yields.corrected_kg_ha),
		monitor: segmentMeans(segments, track, yields.monitor_kg_ha),
		common: commonPart(segments, yields),
	});
	surface.changedShare = changedShareOf(surface);
	surface.closure = closureOf(surface, track, yields, records);
	progress.step('surface', 1);
	return surface;
}

function fill(
	surface: Surface,
	weights: Weights,
	of: { corrected: Float64Array; monitor: Float64Array; common: Float64Array },
): void {
	const { cell, group, count, found, weight, se_rel, segments } = weights;
	let area = 0;
	let mass = 0;
	for (let k = 0; k < segments.n; k++) {
		area += segments.area_m2[k]!;
		mass += segments.area_m2[k]! * of.corrected[k]!;
	}
	const mean_kg_ha = mass / area;
	for (let m = 0; m < cell.length; m++) {
		let corrected = 0;
		let monitor = 0;
		let shared = 0;
		const g = group[m]!;
		for (let i = 0; i < count[g]!; i++) {
			const w = weight[m * ASKED + i]!;
			const a = found[g * ASKED + i]!;
			corrected += w * of.corrected[a]!;
			monitor += w * of.monitor[a]!;
			shared += w * of.common[a]!;
		}
		corrected = Math.max(0, corrected);
		const at = cell[m]!;
		surface.yield_kg_ha[at] = corrected;
		surface.monitor_kg_ha[at] = Math.max(0, monitor);
		surface.common_kg_ha![at] = Math.abs(shared) * corrected;
		surface.se_kg_ha[at] = hypotenuse(se_rel[m]! * mean_kg_ha, shared * corrected);
	}
}

/** Mean relative uncertainty that a segment shares with its neighbors. */
function commonPart(segments: Segments, yields: Yields): Float64Array {
	const mean = new Float64Array(segments.n);
	for (let k = 0; k < segments.n; k++) {
		let sum = 0;
		let count = 0;
		for (let j = segments.start[k]!; j < segments.start[k + 1]!; j++) {
			const u = yields.common_rel?.[segments.order[j]!] ?? Number.NaN;
			if (!Number.isFinite(u)) continue;
			sum += u;
			count++;
		}
		mean[k] = count > 0 ? sum / count : 0;
	}
	return mean;
}

/** Mass and area of the map relative to those of all records, flagged or not, with ground or without, percent. */
function closureOf(surface: Surface, track: Track, yields: Yields, records: Records): Surface['closure'] {
	let cells = 0;
	let mapped_kg = 0;
	const cell_ha = cellArea_m2(surface, track) / 10_000;
	for (const y of surface.yield_kg_ha) {
		if (!Number.isFinite(y)) continue;
		cells++;
		mapped_kg += y * cell_ha;
	}
	let total_kg = 0;
	let total_m2 = 0;
	for (let i = 0; i < records.n; i++) {
		const area_m2 = track.area_m2[i]!;
		if (area_m2 > 0) total_m2 += area_m2;
		total_kg += yields.dry_kg[i]!;
	}
	return {
		mass_pct: 100 * (mapped_kg / total_kg - 1),
		area_pct: 100 * ((cells * cell_ha * 10_000) / total_m2 - 1),
	};
}

/** A cell's ground on the ellipsoid. */
function cellArea_m2(surface: Surface, track: Track): number {
	const scale = utmProjection(track.zone).scale(
		surface.west_m + (surface.columns * surface.cell_m) / 2,
		surface.north_m - (surface.rows * surface.cell_m) / 2,
	);
	return (surface.cell_m / scale) ** 2;
}

/** Share of the cells whose change by correction exceeds twice its uncertainty, that of the level; NaN without cells. */
function changedShareOf({ yield_kg_ha, monitor_kg_ha, se_kg_ha, common_kg_ha }: Surface): number {
	let supported = 0;
	let clear = 0;
	for (let k = 0; k < yield_kg_ha.length; k++) {
		const change = Math.abs(yield_kg_ha[k]! - monitor_kg_ha[k]!);
		if (!Number.isFinite(change)) continue;
		supported++;
		// The records' noise is in both values and cancels.
		if (change > 2 * (common_kg_ha?.[k] ?? se_kg_ha[k]!)) clear++;
	}
	return clear / supported;
}
