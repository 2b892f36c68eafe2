/**
 * Receivers' wander from seams: every seam of full-width passes shows the difference of two such errors; together they
 * give both, as far as the seams reach. Seams that do not fit (a narrow finish, a gap left) are outliers and get no weight.
 */

import { columnOf, mad } from '../../stats/index.ts';
import type { Pieces } from '../path/cut-pieces.ts';
import type { Sides } from './find-sides.ts';
import type { Receivers } from './receivers.ts';
import { emptyWander, KNOT_S, knotAt, type Wander } from './wander.ts';
import { type Links, leastSquares } from './wander-squares.ts';

/** Correlation time of a receiver's error, seconds. */
const FORGET_S = 900;
/** Accuracy of steering, meters. */
const STEERING_M = 0.1;

/**
 * Estimates the wander of all receivers by robust least squares over seams.
 *
 * @param sides - seams as recorded (constant offsets still in)
 * @param receivers - constant offsets, estimated before
 */
export function findWander(pieces: Pieces, sides: Sides, receivers: Receivers, combines: number): Wander {
	const wander = emptyWander(pieces, combines, receivers);
	const links = link(pieces, sides, receivers, wander);
	const { m } = links;
	if (m < 20) return wander;
	const size = 2 * wander.east_m.length;
	const sigma = Math.min(0.5, Math.max(0.05, receivers.spread_m / Math.SQRT2));
	const stay = 1 / (0.3 + sigma) ** 2;
	const step = 1 / ((2 * sigma * sigma * KNOT_S) / FORGET_S);
	let usual = receivers.overlap_m;
	let scale = Math.max(0.3, receivers.spread_m);
	const x = new Float64Array(size);
	const robust = new Float64Array(m);
	const left = new Float64Array(m);
	const residual = (k: number) => {
		const { a, b, nx, ny, overlap } = links;
		return overlap[k]! - usual - (nx[k]! * (x[a[k]!]! - x[b[k]!]!) + ny[k]! * (x[a[k]! + 1]! - x[b[k]! + 1]!));
	};
	for (let round = 0; round < 8; round++) {
		let sum = 0;
		let total = 0;
		for (let k = 0; k < m; k++) {
			const r = residual(k);
			left[k] = r;
			const u = r / (3.5 * scale);
			const w = Math.abs(u) < 1 ? (1 - u * u) ** 2 * links.weight[k]! : 0;
			robust[k] = w / Math.max(STEERING_M, scale) ** 2;
			sum += w * r;
			total += w;
		}
		if (total > 0) usual += sum / total;
		leastSquares(x, { links, weight: robust, usual, wander, stay, step });
		scale = Math.max(STEERING_M, Math.min(scale, mad(left, 0)));
	}
	for (let q = 0; q < wander.east_m.length; q++) {
		wander.east_m[q] = x[2 * q]!;
		wander.north_m[q] = x[2 * q + 1]!;
	}
	for (let k = 0; k < m; k++) left[k] = residual(k);
	wander.overlap_m = usual;
	wander.spread_m = Math.max(0.03, mad(left, 0));
	return wander;
}

/** One link per stretch of seam between two knots: mean overlap, constant offsets taken out. */
function link(pieces: Pieces, sides: Sides, receivers: Receivers, wander: Wander): Links {
	const groups = new Map<number, { a: number; b: number; n: number; nx: number; ny: number; overlap: number }>();
	const count = wander.east_m.length;
	for (let i = 0; i < pieces.n; i++) {
		for (const side of [0, 1] as const) {
			const j = sides.piece[side][i]!;
			const raw = sides.overlap_m[side][i]!;
			if (j < 0 || !(Math.abs(raw) < sides.share * pieces.width_m[i]!)) continue;
			if (pieces.pass[i]! < 0 || pieces.pass[j]! < 0) continue;
			const sign = side === 0 ? -1 : 1;
			const nx = sign * pieces.uy[i]!;
			const ny = -sign * pieces.ux[i]!;
			const ci = pieces.combine[i]!;
			const cj = pieces.combine[j]!;
			const ex =
				receivers.right_m[ci]! * pieces.uy[i]! +
				receivers.east_m[ci]! -
				receivers.right_m[cj]! * pieces.uy[j]! -
				receivers.east_m[cj]!;
			const ey =
				-receivers.right_m[ci]! * pieces.ux[i]! +
				receivers.north_m[ci]! +
				receivers.right_m[cj]! * pieces.ux[j]! -
				receivers.north_m[cj]!;
			const a = knotAt(wander, ci, pieces.to_s[i]!);
			const b = knotAt(wander, cj, pieces.to_s[j]!);
			const key = (a * count + b) * 2 + side;
			let g = groups.get(key);
			if (g === undefined) groups.set(key, (g = { a: 2 * a, b: 2 * b, n: 0, nx: 0, ny: 0, overlap: 0 }));
			g.n++;
			g.nx += nx;
			g.ny += ny;
			g.overlap += raw - (nx * ex + ny * ey);
		}
	}
	let most = 1;
	for (const g of groups.values()) most = Math.max(most, g.n);
	const kept = [...groups.values()].filter((g) => g.a !== g.b && !(Math.hypot(g.nx, g.ny) < 0.8 * g.n));
	return {
		m: kept.length,
		a: Int32Array.from(kept, (g) => g.a),
		b: Int32Array.from(kept, (g) => g.b),
		nx: columnOf(kept, (g) => g.nx / Math.hypot(g.nx, g.ny)),
		ny: columnOf(kept, (g) => g.ny / Math.hypot(g.nx, g.ny)),
		overlap: columnOf(kept, (g) => g.overlap / g.n),
		weight: columnOf(kept, (g) => Math.min(1, (2 * g.n) / most)),
	};
}
