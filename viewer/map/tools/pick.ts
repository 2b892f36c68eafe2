/** Finds the record at a place. */

import type { Scene } from '../../../lib/model/index.ts';
import { remembered } from '../../../lib/model/remembered.ts';

const CELL_M = 20;

export interface Picker {
	/** The last record cut there, preferring records on the map; −1 where none. */
	at(x_m: number, y_m: number): number;
	/** Every record with the middle of its ground in the box. */
	inside(x0: number, y0: number, x1: number, y1: number): number[];
}

/** Records by the square of ground that contains their middle. */
export function picker(scene: Scene): Picker {
	const { n, corners_m } = scene;
	const mid = (i: number, axis: 0 | 1) =>
		(corners_m[8 * i + axis]! +
			corners_m[8 * i + 2 + axis]! +
			corners_m[8 * i + 4 + axis]! +
			corners_m[8 * i + 6 + axis]!) /
		4;
	const squares = new Map<number, number[]>();
	const key = (cx: number, cy: number) => (cx + 32768) * 65536 + (cy + 32768);
	for (let i = 0; i < n; i++) {
		const x = mid(i, 0);
		if (Number.isNaN(x)) continue;
		const k = key(Math.floor(x / CELL_M), Math.floor(mid(i, 1) / CELL_M));
		remembered(squares, k, () => []).push(i);
	}
	const holds = (i: number, x: number, y: number) => {
		let sign = 0;
		for (let a = 0; a < 4; a++) {
			const b = (a + 1) & 3;
			const ax = corners_m[8 * i + 2 * a]!;
			const ay = corners_m[8 * i + 2 * a + 1]!;
			const cross = (corners_m[8 * i + 2 * b]! - ax) * (y - ay) - (corners_m[8 * i + 2 * b + 1]! - ay) * (x - ax);
			if (cross === 0) continue;
			if (sign !== 0 && Math.sign(cross) !== sign) return false;
			sign = Math.sign(cross);
		}
		return true;
	};
	return {
		at(x_m, y_m) {
			const cx = Math.floor(x_m / CELL_M);
			const cy = Math.floor(y_m / CELL_M);
			let best = -1;
			for (let dx = -1; dx <= 1; dx++) {
				for (let dy = -1; dy <= 1; dy++) {
					for (const i of squares.get(key(cx + dx, cy + dy)) ?? []) {
						if (!holds(i, x_m, y_m)) continue;
						const better =
							best < 0 || (scene.flag[i] === 0) > (scene.flag[best] === 0) || (scene.flag[i] === 0 && i > best);
						if (better) best = i;
					}
				}
			}
			return best;
		},
		inside(x0, y0, x1, y1) {
			const found: number[] = [];
			for (let i = 0; i < n; i++) {
				const x = mid(i, 0);
				const y = mid(i, 1);
				if (x >= x0 && x <= x1 && y >= y0 && y <= y1) found.push(i);
			}
			return found;
		},
	};
}
