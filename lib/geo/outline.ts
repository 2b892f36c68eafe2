/** The harvested outline: what was cut, as polygons, where no boundary was given. */

import { simplify } from '@turf/turf';
import { contours } from 'd3-contour';
import type { MultiPolygon, Position } from 'geojson';
import { emptyBox, widen } from './box.ts';
import { ringArea_m2 } from './ring.ts';
import type { Projection } from './utm.ts';

/** Oriented rectangles of cut ground: columns of one length, meters and unit vectors. */
export interface CutGround {
	n: number;
	x_m: Float64Array;
	y_m: Float64Array;
	ux: Float64Array;
	uy: Float64Array;
	length_m: Float64Array;
	width_m: Float64Array;
}

/** Most squares of the grid. */
const MOST = 1_000_000;
/** Seams and short waits narrower than this are closed, meters. */
const CLOSE_M = 6;
/** Tolerance of the simplified edge: about 0.7 m, in degrees. */
const SMOOTH_DEG = 0.7 / 111_320;
/** Islands and holes smaller than this are left out, m². */
const SMALL_M2 = 400;

/**
 * Outline of the cut ground, WGS 84: squares of 2 m or more that are at least half cut are marked, small gaps are closed,
 * and the edge runs halfway between marked and unmarked squares.
 *
 * @returns null where nothing was cut
 */
export function harvestedOutline(cut: CutGround, projection: Projection): MultiPolygon | null {
	if (cut.n === 0) return null;
	const box = emptyBox();
	let reach = 0;
	for (let i = 0; i < cut.n; i++) {
		widen(box, cut.x_m[i]!, cut.y_m[i]!);
		reach = Math.max(reach, cut.width_m[i]! / 2 + cut.length_m[i]! / 2);
	}
	const margin = reach + 2 * CLOSE_M;
	const [west, south] = [box[0] - margin, box[1] - margin];
	const [east, north] = [box[2] + margin, box[3] + margin];
	const cell = Math.max(2, Math.sqrt(((east - west) * (north - south)) / MOST));
	const columns = Math.ceil((east - west) / cell);
	const rows = Math.ceil((north - south) / cell);
	const covered = new Float32Array(columns * rows);
	for (let i = 0; i < cut.n; i++) {
		const along = Math.max(1, Math.ceil(cut.length_m[i]! / (cell / 2)));
		const across = Math.max(1, Math.ceil(cut.width_m[i]! / (cell / 2)));
		const share = (cut.length_m[i]! * cut.width_m[i]!) / (along * across);
		for (let a = 0; a < along; a++) {
			for (let b = 0; b < across; b++) {
				const s = ((a + 0.5) / along - 0.5) * cut.length_m[i]!;
				const t = ((b + 0.5) / across - 0.5) * cut.width_m[i]!;
				const c = Math.floor((cut.x_m[i]! + s * cut.ux[i]! + t * cut.uy[i]! - west) / cell);
				const r = Math.floor((cut.y_m[i]! + s * cut.uy[i]! - t * cut.ux[i]! - south) / cell);
				covered[r * columns + c]! += share;
			}
		}
	}
	const marked = Uint8Array.from(covered, (area) => (area >= 0.5 * cell * cell ? 1 : 0));
	const radius = Math.ceil(CLOSE_M / 2 / cell);
	const closed = spreadOver(spreadOver(marked, columns, rows, radius, 1), columns, rows, radius, 0);
	const drawn = contours().size([columns, rows]).smooth(true).thresholds([0.5])(Array.from(closed));
	const polygons: Position[][][] = [];
	for (const polygon of drawn[0]?.coordinates ?? []) {
		const rings: Position[][] = [];
		for (const [k, ring] of polygon.entries()) {
			// A square's value is at its middle, half a step from the corner that contour coordinates start at.
			const flat = Float64Array.from(ring.flatMap(([c, r]) => [west + c! * cell, south + r! * cell]));
			if (Math.abs(ringArea_m2(flat)) < SMALL_M2) {
				if (k === 0) break;
				continue;
			}
			rings.push(turned(flat, k === 0).map(([x, y]) => projection.inverse(x, y)));
		}
		if (rings.length > 0) polygons.push(rings);
	}
	if (polygons.length === 0) return null;
	return simplify({ type: 'MultiPolygon', coordinates: polygons }, { tolerance: SMOOTH_DEG, highQuality: true });
}

/** Sets every square within `radius` of one with the value to that value: dilation with 1, erosion with 0. */
function spreadOver(grid: Uint8Array, columns: number, rows: number, radius: number, value: 0 | 1): Uint8Array {
	const pass = (from: Uint8Array, step: number, line: number, lines: number, length: number) => {
		const out = from.slice();
		for (let l = 0; l < lines; l++) {
			for (let k = 0; k < length; k++) {
				if (from[l * line + k * step] !== value) continue;
				for (let d = -radius; d <= radius; d++) {
					if (k + d >= 0 && k + d < length) out[l * line + (k + d) * step] = value;
				}
			}
		}
		return out;
	};
	return pass(pass(grid, 1, columns, rows, columns), columns, 1, columns, rows);
}

/** The ring's places, counterclockwise for an outer ring, clockwise for a hole (RFC 7946). */
function turned(flat: Float64Array, outer: boolean): [number, number][] {
	const places: [number, number][] = [];
	for (let i = 0; i < flat.length; i += 2) places.push([flat[i]!, flat[i + 1]!]);
	return ringArea_m2(flat) > 0 === outer ? places : places.reverse();
}
