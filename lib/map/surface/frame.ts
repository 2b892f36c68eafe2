import type { Frame, Track } from '../../model/index.ts';
import { atPlace, hypotenuse } from '../../stats/index.ts';

/** Side of a grid cell, meters. */
export const CELL_M = 10;
/** Most cells of a grid; beyond it the cell size doubles. Only stray positions make a field that large. */
const MOST_CELLS = 4_000_000;

/** The frame around the ground of all records on the map. */
export function frameOf(track: Track, flag: Uint8Array): Frame {
	const room = { x: new Float64Array(flag.length), y: new Float64Array(flag.length) };
	let n = 0;
	for (let i = 0; i < flag.length; i++) {
		if (flag[i] !== 0 || !Number.isFinite(track.cutX_m[i]!)) continue;
		room.x[n] = track.cutX_m[i]!;
		room.y[n++] = track.cutY_m[i]!;
	}
	if (n === 0) return { west_m: 0, north_m: 0, cell_m: CELL_M, columns: 0, rows: 0 };
	const [xs, ys] = [room.x.subarray(0, n), room.y.subarray(0, n)];
	const whole = frameAround(range(xs, 0), range(ys, 0), CELL_M);
	if (whole.columns * whole.rows <= MOST_CELLS) return whole;
	let cell_m = CELL_M;
	for (;;) {
		const frame = frameAround(range(xs, 0.005), range(ys, 0.005), cell_m);
		if (frame.columns * frame.rows <= MOST_CELLS) return frame;
		cell_m *= 2;
	}
}

/** Least and largest value with this share cut off at both ends. The values are rearranged. */
function range(values: Float64Array, cut: number): [number, number] {
	const k = Math.floor(cut * values.length);
	return [atPlace(values, k), atPlace(values, values.length - 1 - k)];
}

function frameAround([x0, x1]: [number, number], [y0, y1]: [number, number], cell_m: number): Frame {
	// Half a header beyond the center lines.
	const margin_m = 15;
	const west_m = Math.floor((x0 - margin_m) / cell_m) * cell_m;
	const north_m = Math.ceil((y1 + margin_m) / cell_m) * cell_m;
	const columns = Math.ceil((x1 + margin_m - west_m) / cell_m);
	const rows = Math.ceil((north_m - y0 + margin_m) / cell_m);
	return { west_m, north_m, cell_m, columns, rows };
}

/** Ground newly cut in each cell, m², from all records, flagged or not. */
export function cutGround(frame: Frame, track: Track): Float64Array {
	const ground_m2 = new Float64Array(frame.columns * frame.rows);
	const { corners_m } = track;
	for (let i = 0; i < track.area_m2.length; i++) {
		const area_m2 = track.area_m2[i]!;
		if (!(area_m2 > 0)) continue;
		const c = 8 * i;
		const [ax, ay, bx, by] = [corners_m[c]!, corners_m[c + 1]!, corners_m[c + 2]!, corners_m[c + 3]!];
		const [cx, cy, dx, dy] = [corners_m[c + 4]!, corners_m[c + 5]!, corners_m[c + 6]!, corners_m[c + 7]!];
		if (!Number.isFinite(ax + ay + bx + by + cx + cy + dx + dy)) continue;
		const along = pieces(hypotenuse(bx - ax, by - ay));
		const across = pieces(hypotenuse(dx - ax, dy - ay));
		const share_m2 = area_m2 / (along * across);
		for (let p = 0; p < along; p++) {
			const u = (p + 0.5) / along;
			for (let q = 0; q < across; q++) {
				const v = (q + 0.5) / across;
				const x = (1 - v) * ((1 - u) * ax + u * bx) + v * ((1 - u) * dx + u * cx);
				const y = (1 - v) * ((1 - u) * ay + u * by) + v * ((1 - u) * dy + u * cy);
				const column = Math.floor((x - frame.west_m) / frame.cell_m);
				const row = Math.floor((frame.north_m - y) / frame.cell_m);
				if (column < 0 || row < 0 || column >= frame.columns || row >= frame.rows) continue;
				ground_m2[row * frame.columns + column]! += share_m2;
			}
		}
	}
	return ground_m2;
}

/** Pieces of at most 1.5 m, and never absurdly many. */
const pieces = (length_m: number) => Math.max(1, Math.min(200, Math.ceil(length_m / 1.5)));
