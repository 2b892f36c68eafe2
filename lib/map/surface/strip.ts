/** Strips of the grid: the weights of some rows of cells, which need no other strip. */
import type { ErrorModel, Frame } from '../../model/index.ts';
import { median } from '../../stats/index.ts';
import { moveSquare, type Supports, squareSupport } from '../records/support.ts';
import { errorCovariance, meanDecay } from './covariance.ts';
import { Kriging } from './krige.ts';
import { Near } from './near-segments.ts';
import type { Segments } from './segments.ts';

/** Cells per side of a group estimated from the same data. */
export const SHARED = 2;
/** Most data used for a group. */
export const ASKED = 28;
/** A cell needs at least this share of its area cut and at least this many data. */
const LEAST_CUT = 0.5;
const LEAST_DATA = 4;
/**
 * Variability differs within a field: a cell's variance follows the scatter of its own data, pooled with the field's
 * variance as this many further data.
 */
const PRIOR_DATA = 12;
/** Points per side of a cell over which its mean is taken. */
const SIDE = 3;

/** Cells and groups of data, in order of the rows. */
export interface Cells {
	/** Cells with an estimate, and the group of data of each. */
	cell: Int32Array;
	group: Int32Array;
	/** For each group: how many segments, and which (ASKED places per group). */
	count: Uint8Array;
	found: Int32Array;
	/** Weights of a cell's segments, ASKED places per cell. */
	weight: Float32Array;
	/** Standard error of each cell by kriging, relative to the field's mean yield. */
	se_rel: Float32Array;
}

export interface Strip {
	/** Rows from `top` to before `bottom`; `top` is a multiple of SHARED. */
	top: number;
	bottom: number;
	/** The same for all strips. */
	data: StripData;
}

export interface StripData {
	frame: Frame;
	segments: Segments;
	supports: Supports;
	model: ErrorModel;
	/** Yields of the segments over the field's mean. */
	relative: Float64Array;
	/** Ground cut in each cell. */
	ground_m2: Float64Array;
}

/** Block kriging of the cells of a strip. */
export function krigeStrip({ top, bottom, data }: Strip): Cells {
	const { frame, segments, supports, model, relative, ground_m2 } = data;
	const { cell_m } = frame;
	const cut = (cell: number) => ground_m2[cell]! >= LEAST_CUT * cell_m * cell_m;
	let most = 0;
	for (let cell = top * frame.columns; cell < bottom * frame.columns; cell++) if (cut(cell)) most++;
	const cellOf = new Int32Array(most);
	const groupOf = new Int32Array(most);
	const se_rel = new Float32Array(most);
	const weight = new Float32Array(most * ASKED);
	const count = new Uint8Array(most);
	const found = new Int32Array(most * ASKED);
	const near = new Near(segments.x_m, segments.y_m, 8, ASKED);
	const width_m = median(segments.width_m);
	// A cell more than two swaths from any data has no support; a nearer one is a gap between passes.
	const nearest_m = Math.max(cell_m, 1.6 * width_m);
	const radius_m = Math.max(3 * cell_m, 4 * width_m) + ((SHARED - 1) * cell_m) / Math.SQRT2;
	const system = new System(segments, supports, model, relative, cell_m);
	const group: number[] = [];
	let cells = 0;
	let groups = 0;
	for (let upper = top; upper < bottom; upper += SHARED) {
		for (let left = 0; left < frame.columns; left += SHARED) {
			group.length = 0;
			for (let row = upper; row < Math.min(bottom, upper + SHARED); row++) {
				for (let column = left; column < Math.min(frame.columns, left + SHARED); column++) {
					if (cut(row * frame.columns + column)) group.push(row * frame.columns + column);
				}
			}
			if (group.length === 0) continue;
			const middleX_m = frame.west_m + (left + SHARED / 2) * cell_m;
			const middleY_m = frame.north_m - (upper + SHARED / 2) * cell_m;
			const n = near.search(middleX_m, middleY_m, radius_m);
			if (n < LEAST_DATA || !system.take(near.found, n)) continue;
			const first = cells;
			for (const cell of group) {
				const x_m = frame.west_m + ((cell % frame.columns) + 0.5) * cell_m;
				const y_m = frame.north_m - (Math.floor(cell / frame.columns) + 0.5) * cell_m;
				if (!system.within(x_m, y_m, nearest_m)) continue;
				const variance = system.aim(x_m, y_m);
				if (!(variance > 0)) continue;
				for (let i = 0; i < n; i++) weight[cells * ASKED + i] = system.weights[i]!;
				cellOf[cells] = cell;
				groupOf[cells] = groups;
				se_rel[cells++] = Math.sqrt(variance);
			}
			if (cells === first) continue;
			for (let i = 0; i < n; i++) found[groups * ASKED + i] = near.found[i]!;
			count[groups++] = n;
		}
	}
	return {
		cell: cellOf.slice(0, cells),
		group: groupOf.slice(0, cells),
		count: count.slice(0, groups),
		found: found.slice(0, groups * ASKED),
		weight: weight.slice(0, cells * ASKED),
		se_rel: se_rel.slice(0, cells),
	};
}

/** The kriging system of a group's data, decomposed once for all of its cells. */
class System {
	private readonly work = new Kriging(ASKED);
	private readonly values = new Float64Array(ASKED);
	/** The ground of the cell aimed at. */
	private readonly cell = squareSupport(SIDE);
	private readonly own: number;
	private found: Int32Array = new Int32Array(0);
	private n = 0;
	/** Variance of the data about their mean over its expected value. */
	private roughness = 1;

	constructor(
		private readonly segments: Segments,
		private readonly supports: Supports,
		private readonly model: ErrorModel,
		private readonly relative: Float64Array,
		private readonly cell_m: number,
	) {
		moveSquare(this.cell, 0, 0, cell_m);
		this.own = model.sill ** 2 * meanDecay(this.cell, 0, this.cell, 0, model.range_m);
	}

	get weights(): Float64Array {
		return this.work.weights;
	}

	/** Sets the first n segments found as data; false where their covariance matrix is not positive definite. */
	take(found: Int32Array, n: number): boolean {
		const { segments, supports, model, relative, values, work } = this;
		this.found = found;
		this.n = n;
		// Errors are relative to the yield.
		let level = 0;
		for (let i = 0; i < n; i++) level += values[i] = relative[found[i]!]!;
		level = Math.max(0.05, level / n);
		const sill2 = model.sill * model.sill;
		for (let i = 0; i < n; i++) {
			const a = found[i]!;
			for (let j = 0; j <= i; j++) {
				const b = found[j]!;
				work.covariance[i * ASKED + j] =
					sill2 * meanDecay(supports, a, supports, b, model.range_m) +
					level * level * errorCovariance(segments, a, b, model);
			}
		}
		if (!work.decompose(n)) return false;
		this.roughness = (work.misfit(n, values) + PRIOR_DATA) / (n - 1 + PRIOR_DATA);
		return true;
	}

	/** True where one of the data is within this distance. */
	within(x_m: number, y_m: number, nearest_m: number): boolean {
		for (let i = 0; i < this.n; i++) {
			const a = this.found[i]!;
			const ex = this.segments.x_m[a]! - x_m;
			const ey = this.segments.y_m[a]! - y_m;
			if (ex * ex + ey * ey <= nearest_m * nearest_m) return true;
		}
		return false;
	}

	/** Computes the weights of a cell's data; returns the variance of its estimate. */
	aim(x_m: number, y_m: number): number {
		const { supports, model, work, n, cell } = this;
		moveSquare(cell, x_m, y_m, this.cell_m);
		const sill2 = model.sill * model.sill;
		for (let i = 0; i < n; i++) work.target[i] = sill2 * meanDecay(supports, this.found[i]!, cell, 0, model.range_m);
		return work.aim(n, this.own) * this.roughness;
	}
}
