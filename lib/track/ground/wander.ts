/**
 * A receiver's wander: a few decimeters that come and go over minutes, the same for a machine whichever way it
 * drives. Every seam of full-width passes says how far two such errors are apart; together they tell both, as
 * far as the seams reach. Seams that do not fit (a narrow finish, a gap left) are outliers and say nothing.
 */

import { mad } from '../../stats/median.ts';
import type { Pieces } from '../path/pieces.ts';
import { Worktime } from '../path/worktime.ts';
import type { Receivers } from './receivers.ts';
import { SEAM_SHARE, type Sides } from './sides.ts';

/** Wander by combine on an even grid of time; between knots in a straight line. */
export interface Wander {
	time: Worktime[];
	knots: number[];
	/** First knot of each combine in the columns below. */
	first: number[];
	east_m: Float64Array;
	north_m: Float64Array;
	/** Spread of the seams' overlaps that is left, meters, and their usual value. */
	spread_m: number;
	overlap_m: number;
}

/** Time between knots, seconds. */
const KNOT_S = 60;
/** Time over which a receiver forgets its error, seconds. */
const FORGET_S = 900;
/** Over a silence as long as this a receiver has forgotten: longer ones need no more knots, seconds. */
const SILENCE_S = 7200;
/** Steering: how exactly passes are laid, meters. */
const STEERING_M = 0.1;

interface Links {
	a: number[];
	b: number[];
	nx: number[];
	ny: number[];
	overlap: number[];
	weight: number[];
}

/**
 * @param sides - seams as the receivers gave them (steady offsets still in)
 * @param receivers - steady offsets, found before
 */
export function findWander(pieces: Pieces, sides: Sides, receivers: Receivers, combines: number): Wander {
	const wander = emptyWander(pieces, combines, receivers);
	const links = link(pieces, sides, receivers, wander);
	const m = links.a.length;
	if (m < 20) return wander;
	const size = 2 * wander.east_m.length;
	const sigma = Math.min(0.5, Math.max(0.05, receivers.spread_m / Math.SQRT2));
	const stay = 1 / (0.3 + sigma) ** 2;
	const step = 1 / ((2 * sigma * sigma * KNOT_S) / FORGET_S);
	let usual = receivers.overlap_m;
	let scale = Math.max(0.3, receivers.spread_m);
	const x = new Float64Array(size);
	const robust = new Float64Array(m);
	for (let round = 0; round < 8; round++) {
		const left: number[] = [];
		let sum = 0;
		let total = 0;
		for (let k = 0; k < m; k++) {
			const fit =
				links.nx[k]! * (x[links.a[k]!]! - x[links.b[k]!]!) + links.ny[k]! * (x[links.a[k]! + 1]! - x[links.b[k]! + 1]!);
			const r = links.overlap[k]! - usual - fit;
			left.push(r);
			const u = r / (3.5 * scale);
			const w = Math.abs(u) < 1 ? (1 - u * u) ** 2 * links.weight[k]! : 0;
			robust[k] = w / Math.max(STEERING_M, scale) ** 2;
			sum += w * r;
			total += w;
		}
		if (total > 0) usual += sum / total;
		conjugate(links, robust, usual, wander, stay, step, x);
		scale = Math.max(STEERING_M, Math.min(scale, mad(left, 0)));
	}
	for (let q = 0; q < wander.east_m.length; q++) {
		wander.east_m[q] = x[2 * q]!;
		wander.north_m[q] = x[2 * q + 1]!;
	}
	const left: number[] = [];
	for (let k = 0; k < m; k++) {
		const fit =
			links.nx[k]! * (x[links.a[k]!]! - x[links.b[k]!]!) + links.ny[k]! * (x[links.a[k]! + 1]! - x[links.b[k]! + 1]!);
		left.push(links.overlap[k]! - usual - fit);
	}
	wander.overlap_m = usual;
	wander.spread_m = Math.max(0.03, mad(left, 0));
	return wander;
}

function emptyWander(pieces: Pieces, combines: number, receivers: Receivers): Wander {
	const time: Worktime[] = [];
	const knots: number[] = [];
	const first: number[] = [];
	let count = 0;
	for (let c = 0; c < combines; c++) {
		const from_s: number[] = [];
		const to_s: number[] = [];
		for (let i = 0; i < pieces.n; i++) {
			if (pieces.combine[i] !== c) continue;
			from_s.push(pieces.from_s[i]!);
			to_s.push(pieces.to_s[i]!);
		}
		const worktime = new Worktime(from_s, to_s, SILENCE_S);
		const end_s = to_s.reduce((most, t) => Math.max(most, t), Number.NEGATIVE_INFINITY);
		const length_s = from_s.length > 0 ? worktime.of(end_s) : 0;
		first.push(count);
		time.push(worktime);
		knots.push(length_s > 0 ? Math.min(100_000, Math.ceil(length_s / KNOT_S) + 2) : 2);
		count += knots[c]!;
	}
	return {
		time,
		knots,
		first,
		east_m: new Float64Array(count),
		north_m: new Float64Array(count),
		spread_m: receivers.spread_m,
		overlap_m: receivers.overlap_m,
	};
}

function knotAt(wander: Wander, c: number, time_s: number): number {
	const q = Math.round(wander.time[c]!.of(time_s) / KNOT_S);
	return wander.first[c]! + Math.max(0, Math.min(wander.knots[c]! - 1, q));
}

/** One link a stretch of seam between two knots: mean overlap, steady offsets taken out. */
function link(pieces: Pieces, sides: Sides, receivers: Receivers, wander: Wander): Links {
	const groups = new Map<number, { a: number; b: number; n: number; nx: number; ny: number; overlap: number }>();
	const count = wander.east_m.length;
	for (let i = 0; i < pieces.n; i++) {
		for (const side of [0, 1] as const) {
			const j = sides.piece[side][i]!;
			const raw = sides.overlap_m[side][i]!;
			if (j < 0 || !(Math.abs(raw) < SEAM_SHARE * pieces.width_m[i]!)) continue;
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
	const links: Links = { a: [], b: [], nx: [], ny: [], overlap: [], weight: [] };
	let most = 1;
	for (const g of groups.values()) most = Math.max(most, g.n);
	for (const g of groups.values()) {
		const length = Math.hypot(g.nx, g.ny);
		if (length < 0.8 * g.n || g.a === g.b) continue;
		links.a.push(g.a);
		links.b.push(g.b);
		links.nx.push(g.nx / length);
		links.ny.push(g.ny / length);
		links.overlap.push(g.overlap / g.n);
		links.weight.push(Math.min(1, (2 * g.n) / most));
	}
	return links;
}

/** Least squares by conjugate gradients, starting from and leaving the solution in x. */
function conjugate(
	links: Links,
	weight: Float64Array,
	usual: number,
	wander: Wander,
	stay: number,
	step: number,
	x: Float64Array,
): void {
	const n = x.length;
	const m = links.a.length;
	const apply = (v: Float64Array, out: Float64Array) => {
		for (let q = 0; q < n; q++) out[q] = stay * v[q]!;
		for (let c = 0; c < wander.first.length; c++) {
			for (let k = 0; k + 1 < wander.knots[c]!; k++) {
				const p = 2 * (wander.first[c]! + k);
				for (const d of [0, 1]) {
					const r = step * (v[p + 2 + d]! - v[p + d]!);
					out[p + 2 + d]! += r;
					out[p + d]! -= r;
				}
			}
		}
		for (let k = 0; k < m; k++) {
			const a = links.a[k]!;
			const b = links.b[k]!;
			const nx = links.nx[k]!;
			const ny = links.ny[k]!;
			const r = weight[k]! * (nx * (v[a]! - v[b]!) + ny * (v[a + 1]! - v[b + 1]!));
			out[a]! += nx * r;
			out[a + 1]! += ny * r;
			out[b]! -= nx * r;
			out[b + 1]! -= ny * r;
		}
	};
	const ax = new Float64Array(n);
	apply(x, ax);
	const r = new Float64Array(n);
	for (let k = 0; k < m; k++) {
		const v = weight[k]! * (links.overlap[k]! - usual);
		r[links.a[k]!]! += links.nx[k]! * v;
		r[links.a[k]! + 1]! += links.ny[k]! * v;
		r[links.b[k]!]! -= links.nx[k]! * v;
		r[links.b[k]! + 1]! -= links.ny[k]! * v;
	}
	let rr = 0;
	for (let q = 0; q < n; q++) {
		r[q]! -= ax[q]!;
		rr += r[q]! * r[q]!;
	}
	const p = r.slice();
	const stop = 1e-6 * rr + 1e-9;
	for (let it = 0; it < 200 && rr > stop; it++) {
		apply(p, ax);
		let pap = 0;
		for (let q = 0; q < n; q++) pap += p[q]! * ax[q]!;
		const alpha = rr / pap;
		let next = 0;
		for (let q = 0; q < n; q++) {
			x[q]! += alpha * p[q]!;
			r[q]! -= alpha * ax[q]!;
			next += r[q]! * r[q]!;
		}
		const beta = next / rr;
		rr = next;
		for (let q = 0; q < n; q++) p[q] = r[q]! + beta * p[q]!;
	}
}

/** The error at a time: [east, north] in meters. */
export function wanderAt(wander: Wander, combine: number, time_s: number, out: Float64Array): void {
	const at = Math.max(0, Math.min(wander.knots[combine]! - 1.001, wander.time[combine]!.of(time_s) / KNOT_S));
	const low = Math.floor(at);
	const f = at - low;
	const k = wander.first[combine]! + low;
	out[0] = wander.east_m[k]! * (1 - f) + wander.east_m[k + 1]! * f;
	out[1] = wander.north_m[k]! * (1 - f) + wander.north_m[k + 1]! * f;
}

/** Middles of the pieces with the receivers' steady offsets and their wander taken out. */
export function correctedPlaces(
	pieces: Pieces,
	receivers: Receivers,
	wander: Wander,
): { x_m: Float64Array; y_m: Float64Array } {
	const x_m = new Float64Array(pieces.n);
	const y_m = new Float64Array(pieces.n);
	const drift = new Float64Array(2);
	for (let i = 0; i < pieces.n; i++) {
		const c = pieces.combine[i]!;
		const a = receivers.right_m[c]!;
		wanderAt(wander, c, (pieces.from_s[i]! + pieces.to_s[i]!) / 2, drift);
		x_m[i] = pieces.x_m[i]! - a * pieces.uy[i]! - receivers.east_m[c]! - drift[0]!;
		y_m[i] = pieces.y_m[i]! + a * pieces.ux[i]! - receivers.north_m[c]! - drift[1]!;
	}
	return { x_m, y_m };
}
