/** Pieces by squares of ground, one list per square in order of time, for fast lookup of neighbors. */
import type { Pieces } from '../path/cut-pieces.ts';

export interface Cells {
	size_m: number;
	columns: number;
	rows: number;
	x0_m: number;
	y0_m: number;
	/** Half-open ranges into `items`, one per square. */
	start: Int32Array;
	items: Int32Array;
}

/**
 * Sorts the pieces into squares that are as large as neighbors are apart; positions that are not finite are left out.
 *
 * @param gap - widest gap between neighbors, as a share of the header; a little more room is for headers of unlike width
 */
export function cellsOf(pieces: Pieces, x_m: Float64Array, y_m: Float64Array, gap: number): Cells {
	let reach = 0;
	let minX = Infinity;
	let minY = Infinity;
	let maxX = -Infinity;
	let maxY = -Infinity;
	for (let i = 0; i < pieces.n; i++) {
		reach = Math.max(reach, pieces.width_m[i]! + pieces.length_m[i]! / 2);
		minX = Math.min(minX, x_m[i]!);
		maxX = Math.max(maxX, x_m[i]!);
		minY = Math.min(minY, y_m[i]!);
		maxY = Math.max(maxY, y_m[i]!);
	}
	if (pieces.n === 0) minX = minY = maxX = maxY = 0;
	// At most a few squares per piece, however far away a stray position is.
	const size_m = Math.max(8, reach * (1.09 + gap), Math.sqrt(((maxX - minX) * (maxY - minY)) / (4 * pieces.n + 1000)));
	const columns = Math.floor((maxX - minX) / size_m) + 1;
	const rows = Math.floor((maxY - minY) / size_m) + 1;
	const start = new Int32Array(columns * rows + 1);
	const square = new Int32Array(pieces.n);
	for (let i = 0; i < pieces.n; i++) {
		square[i] = Math.floor((y_m[i]! - minY) / size_m) * columns + Math.floor((x_m[i]! - minX) / size_m);
		start[square[i]! + 1]!++;
	}
	for (let s = 0; s < columns * rows; s++) start[s + 1]! += start[s]!;
	const next = start.slice(0, -1);
	const items = new Int32Array(pieces.n);
	for (let i = 0; i < pieces.n; i++) items[next[square[i]!]!++] = i;
	return { size_m, columns, rows, x0_m: minX, y0_m: minY, start, items };
}
