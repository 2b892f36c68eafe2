/** Geometry for the swath layer: which quads to draw, and fewer of them while the map moves. */
import type { Scene } from '../../../lib/model/index.ts';
import type { Quads } from './swath-layer.ts';

/** Number of quads that software GL draws ten times per second. */
const THIN = 15_000;

/** All records that cut ground; if thinned, k successive records of a pass become one quad. */
export function swathQuads(scene: Scene): Quads {
	const { n, corners_m } = scene;
	const full = new Uint32Array(6 * n);
	let k = 0;
	let drawn = 0;
	for (let i = 0; i < n; i++) {
		if (Number.isNaN(corners_m[8 * i]!)) continue;
		drawn++;
		k = quad(full, k, [4 * i, 4 * i + 1, 4 * i + 2, 4 * i + 3]);
	}
	const step = Math.ceil(drawn / THIN);
	return {
		corners_m: widened(corners_m),
		full: full.subarray(0, k),
		thin: step > 1 ? thinned(scene, step) : full.subarray(0, k),
	};
}

/** Overlap added to quads, meters: passes are centimeters apart, and the background would show through as dots. */
const LAP_M = 0.12;

function widened(corners_m: Float32Array): Float32Array {
	const out = corners_m.slice();
	for (let i = 0; i < out.length; i += 8) {
		for (const [left, right] of [
			[0, 6],
			[2, 4],
		] as const) {
			const dx = out[i + right]! - out[i + left]!;
			const dy = out[i + right + 1]! - out[i + left + 1]!;
			const lap = LAP_M / Math.hypot(dx, dy);
			if (!(lap < 1)) continue;
			out[i + left]! -= dx * lap;
			out[i + left + 1]! -= dy * lap;
			out[i + right]! += dx * lap;
			out[i + right + 1]! += dy * lap;
		}
	}
	return out;
}

function thinned(scene: Scene, step: number): Uint32Array {
	const { n, corners_m, pass, combine, flag } = scene;
	const out = new Uint32Array(6 * n);
	let k = 0;
	let i = 0;
	while (i < n) {
		if (Number.isNaN(corners_m[8 * i]!)) {
			i++;
			continue;
		}
		// From the rear edge of the first to the front edge of the last record; the value is that of the last corner's record.
		let last = i;
		while (
			last + 1 < n &&
			last - i < step - 1 &&
			pass[last + 1] === pass[i] &&
			combine[last + 1] === combine[i] &&
			(flag[last + 1] === 0) === (flag[i] === 0) &&
			!Number.isNaN(corners_m[8 * (last + 1)]!)
		)
			last++;
		k = quad(out, k, [4 * i, 4 * last + 1, 4 * last + 2, 4 * i + 3]);
		i = last + 1;
	}
	return out.slice(0, k);
}

/** Two triangles; the last vertex of each gives its color, so both end on the same record. */
function quad(out: Uint32Array, k: number, [a, b, c, d]: readonly [number, number, number, number]): number {
	out[k] = d;
	out[k + 1] = a;
	out[k + 2] = b;
	out[k + 3] = d;
	out[k + 4] = b;
	out[k + 5] = c;
	return k + 6;
}

/** Cells of the grid that have a value. */
export function gridQuads(scene: Scene): Quads {
	const { grid } = scene.facts;
	if (!grid) return { corners_m: new Float32Array(), full: new Uint32Array(), thin: new Uint32Array() };
	const { columns, rows } = grid;
	const [nw, ne, se, sw] = grid.corners_m;
	const corners_m = new Float32Array(8 * columns * rows);
	const full = new Uint32Array(6 * columns * rows);
	const place = (c: number, r: number, axis: 0 | 1) => {
		const u = c / columns;
		const v = r / rows;
		return (1 - v) * ((1 - u) * nw![axis] + u * ne![axis]) + v * ((1 - u) * sw![axis] + u * se![axis]);
	};
	let k = 0;
	for (let r = 0; r < rows; r++) {
		for (let c = 0; c < columns; c++) {
			const i = r * columns + c;
			if (!Number.isFinite(scene.gridYield_kg_ha[i]!)) continue;
			[
				[c, r],
				[c + 1, r],
				[c + 1, r + 1],
				[c, r + 1],
			].forEach(([x, y], corner) => {
				corners_m[8 * i + 2 * corner] = place(x!, y!, 0);
				corners_m[8 * i + 2 * corner + 1] = place(x!, y!, 1);
			});
			k = quad(full, k, [4 * i, 4 * i + 1, 4 * i + 2, 4 * i + 3]);
		}
	}
	const drawn = full.subarray(0, k);
	return { corners_m, full: drawn, thin: drawn };
}
