/** The boundary as a neighbor: which part of a header line is outside it. */
import { type Box, emptyBox, widen } from '../../geo/box.ts';
import { type BoxIndex, boxIndex } from '../../geo/near.ts';
import { insideRings, type Rings } from '../../geo/ring.ts';

export interface Fence {
	/** True where the place is inside. */
	inside(x_m: number, y_m: number): boolean;
	/**
	 * The parts outside of a line that extends `reach_m` to both sides of the middle.
	 *
	 * @returns null where all of it is inside; else pairs [from, to] along the line (right positive), and for a pair at
	 * either end whether the boundary is parallel to the machine there
	 */
	outside(x_m: number, y_m: number, ux: number, uy: number, reach_m: number): Outside | null;
}

export interface Outside {
	pairs: number[];
	/** The fence's own angle where each pair begins and ends: true = runs with the machine (NaN border = false). */
	alongFrom: boolean[];
	alongTo: boolean[];
}

/** A square of ground: wholly inside or outside, null where an edge crosses it. */
interface Square {
	inside: boolean | null;
	/** The rings that could hold a place in it. */
	rings: Rings;
	/** Whether no edge comes nearer to it than `CLEAR_M`. */
	clear: boolean;
}

const SQUARE_M = 25;
/** More than half of most headers, meters. */
const CLEAR_M = 15;

const PARALLEL = Math.cos((20 * Math.PI) / 180);

export function fenceOf(rings: Rings): Fence {
	const ends: number[] = [];
	for (const ring of rings) {
		const n = ring.length / 2;
		for (let i = 0, j = n - 1; i < n; j = i++) {
			ends.push(ring[2 * j]!, ring[2 * j + 1]!, ring[2 * i]!, ring[2 * i + 1]!);
		}
	}
	const edges = Float64Array.from(ends);
	const boxes = new Float64Array(edges.length);
	for (let e = 0; e < edges.length; e += 4) {
		boxes[e] = Math.min(edges[e]!, edges[e + 2]!);
		boxes[e + 1] = Math.min(edges[e + 1]!, edges[e + 3]!);
		boxes[e + 2] = Math.max(edges[e]!, edges[e + 2]!);
		boxes[e + 3] = Math.max(edges[e + 1]!, edges[e + 3]!);
	}
	const index = boxIndex(boxes);
	const extents = boxIndex(Float64Array.from(rings.flatMap(extentOf)));
	const newSquare = (column: number, row: number): Square => {
		const cx = (column + 0.5) * SQUARE_M;
		const cy = (row + 0.5) * SQUARE_M;
		const meeting = (tree: BoxIndex, reach: number) => tree.meeting(cx - reach, cy - reach, cx + reach, cy + reach);
		const free = (reach: number) => meeting(index, reach).length === 0;
		const near = Array.from(meeting(extents, SQUARE_M / 2), (ring) => rings[ring]!);
		const inside = free(SQUARE_M / 2) ? insideRings(near, cx, cy) : null;
		return { inside, rings: near, clear: inside !== null && free(SQUARE_M / 2 + CLEAR_M) };
	};
	// Squares far from every edge are tested once, and a machine stays in one for some seconds.
	const known = new Map<number, Square>();
	let last = Number.NaN;
	let lastSquare: Square | undefined;
	const squareAt = (x: number, y: number): Square => {
		const column = Math.floor(x / SQUARE_M);
		const row = Math.floor(y / SQUARE_M);
		const key = column * 1e7 + row;
		if (key === last && lastSquare !== undefined) return lastSquare;
		let square = known.get(key);
		if (square === undefined) {
			square = newSquare(column, row);
			known.set(key, square);
		}
		last = key;
		lastSquare = square;
		return square;
	};
	const insideFar = (x: number, y: number): boolean => {
		const square = squareAt(x, y);
		return square.inside ?? insideRings(square.rings, x, y);
	};
	return {
		inside: (x, y) => Number.isFinite(x) && insideFar(x, y),
		outside(x, y, ux, uy, reach) {
			const { inside, clear } = squareAt(x, y);
			if (inside === true && clear && reach <= CLEAR_M) return null;
			const nx = uy;
			const ny = -ux;
			const ax = x - reach * nx;
			const ay = y - reach * ny;
			const bx = x + reach * nx;
			const by = y + reach * ny;
			const near = index.meeting(Math.min(ax, bx), Math.min(ay, by), Math.max(ax, bx), Math.max(ay, by));
			const cuts: { s: number; along: boolean }[] = [];
			for (const e of near) {
				const px = edges[4 * e]!;
				const py = edges[4 * e + 1]!;
				const dx = edges[4 * e + 2]! - px;
				const dy = edges[4 * e + 3]! - py;
				const cross = nx * dy - ny * dx;
				if (cross === 0) continue;
				const s = ((px - x) * dy - (py - y) * dx) / cross;
				const f = ((px - x) * ny - (py - y) * nx) / cross;
				if (f < 0 || f >= 1 || s <= -reach || s >= reach) continue;
				cuts.push({ s, along: Math.abs(ux * dx + uy * dy) > PARALLEL * Math.hypot(dx, dy) });
			}
			if (cuts.length === 0) {
				if (insideFar(x, y)) return null;
				return { pairs: [-reach, reach], alongFrom: [false], alongTo: [false] };
			}
			cuts.sort((p, q) => p.s - q.s);
			let out = !insideFar(x + (cuts[0]!.s - 1e-6) * nx, y + (cuts[0]!.s - 1e-6) * ny);
			const found: Outside = { pairs: [], alongFrom: [], alongTo: [] };
			let from = { s: -reach, along: false };
			for (const cut of [...cuts, { s: reach, along: false }]) {
				if (out && cut.s > from.s) {
					found.pairs.push(from.s, cut.s);
					found.alongFrom.push(from.along);
					found.alongTo.push(cut.along);
				}
				from = cut;
				out = !out;
			}
			return found.pairs.length > 0 ? found : null;
		},
	};
}

function extentOf(ring: Float64Array): Box {
	const box = emptyBox();
	for (let i = 0; i < ring.length; i += 2) widen(box, ring[i]!, ring[i + 1]!);
	return box;
}
