import { ticks } from 'd3-array';
import { utmProjection } from '../../geo/utm.ts';
import type { Account, FieldPlan, Progress, Records, Surface, Track, Variogram, Yields } from '../../model/index.ts';
import { median } from '../../stats/index.ts';
import { yieldBands } from '../legend/bands.ts';
import { difference } from '../legend/difference.ts';
import { supportsOf } from '../records/support.ts';
import { type ErrorModel, errorCovariance, learnErrors, meanDecay, neighbourMisses } from './errors.ts';
import { cutGround, type Frame, frameOf } from './frame.ts';
import { Kriging } from './krige.ts';
import { Near } from './near.ts';
import { cutSegments, type Segments } from './segments.ts';
import { fitVariogram, semivariogram } from './variogram.ts';

/** Data asked for a cell. */
const ASKED = 26;
/** A cell stands when at least this share of it was cut, and with fewer data than this it is left empty. */
const LEAST_CUT = 0.5;
const LEAST_DATA = 4;
/**
 * Fields are rougher in one place than in another: the variance of a cell follows how its own data scatter, with the
 * field's as so many further data.
 */
const PRIOR_DATA = 12;
/** Points a side of a cell over which its mean is taken. */
const SIDE = 3;

/**
 * The gridded map: an estimate of each cell's mean yield and its standard error.
 *
 * Kept records are joined into segments of about 6 m along their passes. How crop and errors vary together is
 * learned from the field itself (`learnErrors`); a cell's mean is then the best linear estimate from the segments
 * around it (ordinary block kriging). As each segment counts for the ground it truly is a mean of, the smear is
 * undone as far as the noise allows: that is done where neighbours of other passes are then predicted better. The
 * standard error is the kriging one joined with what the cells share (factor, moisture).
 *
 * Cells of which less than half was cut, or without data nearby, stay empty.
 */
export function fieldSurface(
	input: { records: Records; account: Account; track: Track; yields: Yields; plan: FieldPlan },
	progress: Progress,
): Surface {
	const { records, track, yields } = input;
	progress.step('surface', 0);
	const frame = frameOf(track, yields.flag);
	const cells = frame.columns * frame.rows;
	const grid = () => new Float32Array(cells).fill(Number.NaN);
	const surface: Surface = {
		epsg: track.zone.epsg,
		...frame,
		yield_kg_ha: grid(),
		se_kg_ha: grid(),
		common_kg_ha: grid(),
		monitor_kg_ha: grid(),
		variogram: { before: noVariogram, after: noVariogram },
		closure: { mass_pct: Number.NaN, area_pct: Number.NaN },
		deblur_gain_pct: 0,
		contours: [],
	};
	const segments = cutSegments({
		records,
		track,
		corrected_kg_ha: yields.corrected_kg_ha,
		monitor_kg_ha: yields.monitor_kg_ha,
		flag: yields.flag,
		length_m: 6,
	});
	if (segments.n < 12) return surface;
	surface.variogram = {
		before: fieldVariogram(segments, segments.monitor_kg_ha),
		after: fieldVariogram(segments, segments.yield_kg_ha),
	};
	progress.step('surface', 0.1);

	let area = 0;
	let mass = 0;
	for (let k = 0; k < segments.n; k++) {
		area += segments.area_m2[k]!;
		mass += segments.area_m2[k]! * segments.yield_kg_ha[k]!;
	}
	const mean_kg_ha = mass / area;
	if (!(mean_kg_ha > 0)) return surface;
	const relative = segments.yield_kg_ha.map((y) => y / mean_kg_ha);
	const { model, smear_s, gain_pct } = learn(segments, relative, track, records.combines.length);
	surface.deblur_gain_pct = gain_pct;
	progress.step('surface', 0.4);

	const common = commonPart(segments, records, yields);
	const ground_m2 = cutGround(frame, track);
	krigeCells({ surface, frame, segments, mean_kg_ha, model, smear_s, ground_m2, common, progress });
	surface.changedShare = difference(surface).clearShare;
	surface.closure = closureOf(surface, track, yields, records);
	surface.contours = contoursOf(surface, track);
	progress.step('surface', 1);
	return surface;
}

const noVariogram: Variogram = { model: 'none', nugget: 0, sill: 0, range_m: 0, points: [] };

/**
 * Semivariogram of segments' yields up to a third of the field's diagonal (at most 300 m), in 20 classes no finer than
 * a segment.
 */
function fieldVariogram(segments: Segments, value: Float64Array): Variogram {
	const { x_m, y_m } = segments;
	const extent = (v: Float64Array) =>
		v.reduce((m, a) => Math.max(m, a), v[0]!) - v.reduce((m, a) => Math.min(m, a), v[0]!);
	const cutoff_m = Math.min(300, Math.max(60, Math.hypot(extent(x_m), extent(y_m)) / 3));
	const width_m = Math.max(8, cutoff_m / 20);
	// A pair costs little, but a million segments have a thousand million of them.
	const every = Math.max(1, Math.floor(segments.n / 3000));
	return fitVariogram(semivariogram({ x_m, y_m, value }, width_m, cutoff_m, every));
}

/** The model with the smear taken for what it is, where that predicts neighbours better; else without. */
function learn(
	segments: Segments,
	relative: Float64Array,
	track: Track,
	combines: number,
): { model: ErrorModel; smear_s: number[]; gain_pct: number } {
	const none = Array.from({ length: combines }, () => 0);
	const smear_s = none.map((_, c) => {
		const smear = track.lags.find((l) => l.combine === c)?.smear_s ?? 0;
		return Number.isFinite(smear) ? Math.max(0, smear) : 0;
	});
	const plain = learnErrors(segments, relative, none);
	if (smear_s.every((s) => s === 0)) return { model: plain.model, smear_s: none, gain_pct: 0 };
	const undone = learnErrors(segments, relative, smear_s, plain.model);
	// Where all of a segment's neighbours, its own pass's too, speak for the smear, any gain will do.
	const gain_pct = clearGain(
		neighbourMisses(segments, relative, none, plain.model),
		neighbourMisses(segments, relative, smear_s, undone.model),
		undone.logLikelihood > plain.logLikelihood ? 0 : 1,
	);
	if (gain_pct === 0) return { model: plain.model, smear_s: none, gain_pct };
	return { model: undone.model, smear_s, gain_pct };
}

/**
 * By how much the second squares are smaller in the root mean square, percent; 0 unless the mean difference of the
 * pairs exceeds so many of its own standard errors. The worst two in a hundred are faults, not mismatch, and are
 * left out.
 */
function clearGain(before: Float64Array, after: Float64Array, errors: number): number {
	const pairs = Array.from(before, (b, k) => [b, after[k]!] as const).filter(([b, a]) => Number.isFinite(a + b));
	pairs.sort((p, q) => p[0] + p[1] - q[0] - q[1]);
	pairs.length = Math.ceil(0.98 * pairs.length);
	const n = pairs.length;
	const mean = (f: (b: number, a: number) => number) => pairs.reduce((s, [b, a]) => s + f(b, a), 0) / n;
	const less = mean((b, a) => b - a);
	const u = Math.sqrt(mean((b, a) => (b - a - less) ** 2) / n);
	if (!(less > errors * u)) return 0;
	return 100 * (1 - Math.sqrt(mean((_, a) => a) / mean((b) => b)));
}

/** Mean relative uncertainty that a segment shares with its neighbours. */
function commonPart(segments: Segments, records: Records, yields: Yields): Float64Array {
	const sum = new Float64Array(segments.n);
	const count = new Float64Array(segments.n);
	for (let i = 0; i < records.n; i++) {
		const s = segments.of[i]!;
		const u = yields.common_rel?.[i] ?? Number.NaN;
		if (s < 0 || !Number.isFinite(u)) continue;
		sum[s]! += u;
		count[s]!++;
	}
	return sum.map((v, s) => (count[s]! > 0 ? v / count[s]! : 0));
}

function krigeCells(input: {
	surface: Surface;
	frame: Frame;
	segments: Segments;
	mean_kg_ha: number;
	model: ErrorModel;
	smear_s: number[];
	ground_m2: Float64Array;
	common: Float64Array;
	progress: Progress;
}): void {
	const { surface, frame, segments, mean_kg_ha, model, smear_s, ground_m2, common, progress } = input;
	const { points, x_m, y_m } = supportsOf(segments, smear_s);
	const work = new Kriging(ASKED);
	const near = new Near(segments.x_m, segments.y_m, 8, ASKED);
	const width_m = median(segments.width_m);
	// Beyond two swaths nothing supports a cell; ground nearer than that is a gap between kept passes.
	const nearest_m = Math.max(frame.cell_m, 1.6 * width_m);
	const radius_m = Math.max(3 * frame.cell_m, 4 * width_m);
	const sill2 = model.sill * model.sill;
	const cellX = new Float64Array(SIDE * SIDE);
	const cellY = new Float64Array(SIDE * SIDE);
	const values = new Float64Array(ASKED);
	let own = Number.NaN;
	const shape = new Float64Array((ASKED * (ASKED + 1)) / 2);
	for (let row = 0; row < frame.rows; row++) {
		if (row % 16 === 0) progress.step('surface', 0.4 + (0.55 * row) / frame.rows);
		for (let column = 0; column < frame.columns; column++) {
			const cell = row * frame.columns + column;
			if (ground_m2[cell]! < LEAST_CUT * frame.cell_m * frame.cell_m) continue;
			const x = frame.west_m + (column + 0.5) * frame.cell_m;
			const y = frame.north_m - (row + 0.5) * frame.cell_m;
			const n = near.search(x, y, radius_m);
			if (n < LEAST_DATA || near.d2_m2[0]! > nearest_m * nearest_m) continue;
			for (let p = 0; p < SIDE; p++) {
				for (let q = 0; q < SIDE; q++) {
					cellX[p * SIDE + q] = x + ((q + 0.5) / SIDE - 0.5) * frame.cell_m;
					cellY[p * SIDE + q] = y + ((p + 0.5) / SIDE - 0.5) * frame.cell_m;
				}
			}
			if (Number.isNaN(own)) {
				own = meanDecay(cellX, cellY, 0, SIDE * SIDE, cellX, cellY, 0, SIDE * SIDE, model.range_m);
			}
			// Errors grow with the yield: they are shares of it.
			let level = 0;
			for (let i = 0; i < n; i++) level += segments.yield_kg_ha[near.found[i]!]!;
			level = Math.max(0.05, level / n / mean_kg_ha);
			let k = 0;
			for (let i = 0; i < n; i++) {
				const a = near.found[i]!;
				for (let j = 0; j <= i; j++) {
					const b = near.found[j]!;
					shape[k] = meanDecay(x_m, y_m, a * points, points, x_m, y_m, b * points, points, model.range_m);
					work.covariance[i * ASKED + j] = sill2 * shape[k++]! + level * level * errorCovariance(segments, a, b, model);
				}
				work.target[i] = sill2 * meanDecay(x_m, y_m, a * points, points, cellX, cellY, 0, SIDE * SIDE, model.range_m);
			}
			const variance = work.solve(n, sill2 * own);
			if (!(variance > 0)) continue;
			for (let i = 0; i < n; i++) values[i] = segments.yield_kg_ha[near.found[i]!]! / mean_kg_ha;
			const local = (work.misfit(n, values) + PRIOR_DATA) / (n - 1 + PRIOR_DATA);
			let corrected = 0;
			let monitor = 0;
			let shared = 0;
			for (let i = 0; i < n; i++) {
				const w = work.weights[i]!;
				const a = near.found[i]!;
				corrected += w * segments.yield_kg_ha[a]!;
				monitor += w * segments.monitor_kg_ha[a]!;
				shared += w * common[a]!;
			}
			corrected = Math.max(0, corrected);
			surface.yield_kg_ha[cell] = corrected;
			surface.monitor_kg_ha[cell] = Math.max(0, monitor);
			surface.common_kg_ha![cell] = Math.abs(shared) * corrected;
			surface.se_kg_ha[cell] = Math.hypot(Math.sqrt(variance * local) * mean_kg_ha, shared * corrected);
		}
	}
}

/** The map's kilograms and ground against those of all records, flagged or not, with ground or without, percent. */
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
		const y = yields.corrected_kg_ha[i]!;
		total_kg += yields.dry_kg?.[i] ?? (Number.isFinite(y) ? (y * area_m2) / 10_000 : 0);
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

/** Bands between round levels that span the middle 96 % of cells. */
function contoursOf(surface: Surface, track: Track): Surface['contours'] {
	const sorted = surface.yield_kg_ha.filter(Number.isFinite).sort();
	if (sorted.length === 0) return [];
	const at = (q: number) => sorted[Math.round(q * (sorted.length - 1))]!;
	const inner = ticks(at(0.02), at(0.98), 7);
	const levels = [
		Math.min(Math.floor(sorted[0]!), (inner[0] ?? sorted[0]!) - 1),
		...inner,
		Math.max(Math.ceil(sorted[sorted.length - 1]!), (inner.at(-1) ?? sorted[0]!) + 1),
	];
	return yieldBands(surface, surface.yield_kg_ha, levels, utmProjection(track.zone));
}
