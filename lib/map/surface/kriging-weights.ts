import {
	type Each,
	type ErrorModel,
	type Frame,
	inTurn,
	type Progress,
	type Records,
	type Track,
} from '../../model/index.ts';
import type { Pattern } from '../records/pattern.ts';
import { supportsOf } from '../records/support.ts';
import { CELL_M, cutGround, frameOf } from './frame.ts';
import { learn } from './learn-errors.ts';
import { cutSegments, noSegments, type Segments } from './segments.ts';
import { ASKED, type Cells, krigeStrip, SHARED, type Strip } from './strip.ts';

/** Fewest segments for a map. */
const LEAST_SEGMENTS = 12;
/** Strips of a grid: few enough that what each begins with costs little, enough that threads end at about the same time. */
const STRIPS = 8;

/** The segments and weights from which each cell is estimated: the part of the map that factors do not change. */
export interface Weights extends Cells {
	frame: Frame;
	segments: Segments;
	/** null: too few data for a map. */
	model: ErrorModel | null;
	/** Reduction of the neighbor mismatch by undoing the smear, percent. */
	gain_pct: number;
}

/**
 * Computes the grid's weights: block kriging from segments of about 6 m. The covariance model is estimated from the field
 * itself (`learn`). Each segment is modeled as a mean over its true ground, which undoes the smear as far as the noise
 * allows; this is done only if neighbors in other passes are then predicted better.
 *
 * Groups of four cells share their data and one matrix decomposition.
 */
export function krigingWeights(
	input: { records: Records; track: Track; pattern: Pattern },
	progress: Progress,
	each: Each = inTurn,
): Weights {
	const { records, track, pattern } = input;
	progress.step('surface', 0);
	const { flag, yield_kg_ha } = pattern;
	const frame = frameOf(track, flag);
	const segments = cutSegments({ records, track, yield_kg_ha, flag, length_m: 6 });
	progress.step('surface', 0.1);
	let area = 0;
	let mass = 0;
	for (let k = 0; k < segments.n; k++) {
		area += segments.area_m2[k]!;
		mass += segments.area_m2[k]! * segments.yield_kg_ha[k]!;
	}
	const weights = emptyWeights(frame, segments);
	if (segments.n < LEAST_SEGMENTS || !(mass > 0)) return weights;
	const relative = segments.yield_kg_ha.map((y) => (y * area) / mass);
	const { model, smear_s, gain_pct } = learn(segments, relative, track, records.combines.length, (share) =>
		progress.step('surface', 0.1 + 0.2 * share),
	);
	progress.step('surface', 0.3);
	const ground_m2 = cutGround(frame, track);
	const data = { frame, segments, supports: supportsOf(segments, smear_s), model, relative, ground_m2 };
	const high = SHARED * Math.ceil(frame.rows / SHARED / STRIPS);
	const strips: Strip[] = [];
	for (let top = 0; top < frame.rows; top += high) {
		strips.push({ top, bottom: Math.min(frame.rows, top + high), data });
	}
	const cells = joined(each(krigeStrip, strips, (share) => progress.step('surface', 0.3 + 0.6 * share)));
	return { ...weights, ...cells, model, gain_pct };
}

/** Empty weights, where no grid is wanted. */
export function noWeights(): Weights {
	const frame = { west_m: 0, north_m: 0, cell_m: CELL_M, columns: 0, rows: 0 };
	return emptyWeights(frame, noSegments());
}

function emptyWeights(frame: Frame, segments: Segments): Weights {
	return { frame, segments, ...joined([]), model: null, gain_pct: 0 };
}

/** The strips' cells as one list, with the groups numbered through. */
function joined(strips: readonly Cells[]): Cells {
	let cells = 0;
	let groups = 0;
	for (const strip of strips) {
		cells += strip.cell.length;
		groups += strip.count.length;
	}
	const all: Cells = {
		cell: new Int32Array(cells),
		group: new Int32Array(cells),
		count: new Uint8Array(groups),
		found: new Int32Array(groups * ASKED),
		weight: new Float32Array(cells * ASKED),
		se_rel: new Float32Array(cells),
	};
	let [atCell, atGroup] = [0, 0];
	for (const { cell, group, count, found, weight, se_rel } of strips) {
		all.cell.set(cell, atCell);
		for (let i = 0; i < group.length; i++) all.group[atCell + i] = atGroup + group[i]!;
		all.weight.set(weight, atCell * ASKED);
		all.se_rel.set(se_rel, atCell);
		all.count.set(count, atGroup);
		all.found.set(found, atGroup * ASKED);
		atCell += cell.length;
		atGroup += count.length;
	}
	return all;
}
