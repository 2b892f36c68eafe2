import { boxAround } from '../../geo/box.ts';
import { flatRing, ringArea_m2 } from '../../geo/ring.ts';
import type { Frame } from '../../model/index.ts';
import type { Ring } from './rings.ts';

/** Corners of a cell counterclockwise, the south-west one first, and its neighbor across the side from each to the next. */
const CORNERS = [
	[0, 1],
	[1, 1],
	[1, 0],
	[0, 0],
] as const;
const ACROSS = [
	[0, 1],
	[1, 0],
	[0, -1],
	[-1, 0],
] as const;

/**
 * Mesh of a grid cut by levels: each cell is four triangles from its center to its sides. A level crosses two sides of a
 * triangle or none, and the pieces of a band meet at all other sides, so only these crossings and the sides of the
 * mesh itself are its outline.
 *
 * Vertices are numbered: first the corners of cells, row by row, then their centers, then crossings.
 */
export class Mesh {
	readonly x: number[] = [];
	readonly y: number[] = [];
	private readonly columns: number;
	private readonly rows: number;
	private readonly cells: ArrayLike<number>;
	private readonly value: Float64Array;
	private readonly band: Int8Array;
	/** First crossing of each edge of the mesh, 0 = none yet: four spokes of each cell, then two sides of each corner. */
	private readonly crossed: Int32Array;
	/** Edges of each band's outline, the band to their left. */
	private readonly from: number[][];
	private readonly to: number[][];
	private readonly levels: readonly number[];

	constructor(frame: Frame, values: ArrayLike<number>, levels: readonly number[]) {
		// The first and last bands are unbounded.
		this.levels = levels.slice(1, -1);
		this.from = levels.map(() => []);
		this.to = levels.map(() => []);
		this.columns = frame.columns;
		this.rows = frame.rows;
		this.cells = values;
		const { columns, rows, wide } = this;
		const corners = wide * (rows + 1);
		const at = (column: number, row: number) => this.at(column, row);
		this.value = new Float64Array(corners + columns * rows);
		this.band = new Int8Array(this.value.length);
		for (let r = 0; r <= rows; r++)
			for (let c = 0; c < wide; c++)
				this.vertex(frame, c, r, mean(at(c - 1, r - 1), at(c, r - 1), at(c - 1, r), at(c, r)));
		for (let r = 0; r < rows; r++) for (let c = 0; c < columns; c++) this.vertex(frame, c + 0.5, r + 0.5, at(c, r));
		this.crossed = new Int32Array(4 * columns * rows + 2 * corners);
		for (let r = 0; r < rows; r++) for (let c = 0; c < columns; c++) if (Number.isFinite(at(c, r))) this.cell(c, r);
	}

	private get wide(): number {
		return this.columns + 1;
	}

	/** Value of a cell, NaN outside the grid. */
	private at(column: number, row: number): number {
		const { columns, rows } = this;
		return column < 0 || row < 0 || column >= columns || row >= rows ? Number.NaN : this.cells[row * columns + column]!;
	}

	/** Cuts the four triangles of a cell. */
	private cell(c: number, r: number): void {
		const { band, columns, rows, wide } = this;
		const cell = r * columns + c;
		const middle = wide * (rows + 1) + cell;
		const sides = 4 * columns * rows;
		const around = CORNERS.map(([x, y]) => (r + y) * wide + c + x) as [number, number, number, number];
		const [southWest, , northEast, northWest] = around;
		// Horizontal sides are numbered by their western corner, vertical ones by their northern.
		const side = [southWest, northEast, northWest, northWest].map((v, k) => sides + 2 * v + (k & 1));
		const flat = around.every((v) => band[v] === band[middle]);
		for (let k = 0; k < 4; k++) {
			const a = around[k]!;
			const b = around[(k + 1) & 3]!;
			if (!flat) this.cut([middle, a, b], [4 * cell + k, side[k]!, 4 * cell + ((k + 1) & 3)]);
			const [x, y] = ACROSS[k]!;
			if (!Number.isFinite(this.at(c + x, r + y))) this.border(a, b, side[k]!);
		}
	}

	private vertex(frame: Frame, c: number, r: number, value: number): void {
		const id = this.x.length;
		this.x.push(frame.west_m + c * frame.cell_m);
		this.y.push(frame.north_m - r * frame.cell_m);
		// Keep vertices off the levels, since a crossing at a vertex would be one place with two numbers.
		const off = this.levels.includes(value) ? value + 1e-6 * Math.abs(value) + 1e-9 : value;
		this.value[id] = off;
		let band = 0;
		while (band < this.levels.length && off > this.levels[band]!) band++;
		this.band[id] = band;
	}

	/** Cuts a triangle by the levels: its corners, and the edges from each to the next. */
	private cut(corners: readonly number[], edges: readonly number[]): void {
		const [p, q, r] = corners.map((v) => this.band[v]!) as [number, number, number];
		const last = Math.max(p, q, r);
		for (let band = Math.min(p, q, r) + 1; band <= last; band++) {
			let up = -1;
			let down = -1;
			for (let k = 0; k < 3; k++) {
				const a = corners[k]!;
				const b = corners[(k + 1) % 3]!;
				const above = this.band[a]! >= band;
				if (above === this.band[b]! >= band) continue;
				if (above) down = this.crossing(edges[k]!, a, b, band);
				else up = this.crossing(edges[k]!, a, b, band);
			}
			this.edge(band, down, up);
			this.edge(band - 1, up, down);
		}
	}

	/** Adds a side of a cell that has no neighbor there. */
	private border(a: number, b: number, edge: number): void {
		const end = this.band[b]!;
		let from = a;
		let band = this.band[a]!;
		for (; band < end; band++) {
			const over = this.crossing(edge, a, b, band + 1);
			this.edge(band, from, over);
			from = over;
		}
		for (; band > end; band--) {
			const over = this.crossing(edge, a, b, band);
			this.edge(band, from, over);
			from = over;
		}
		this.edge(band, from, b);
	}

	/** The vertex at which an edge enters a band from below. */
	private crossing(edge: number, a: number, b: number, band: number): number {
		const [p, q] = a < b ? [a, b] : [b, a];
		const lowest = Math.min(this.band[p]!, this.band[q]!);
		if (this.crossed[edge] === 0) {
			this.crossed[edge] = this.x.length;
			const [from, to] = [this.value[p]!, this.value[q]!];
			const highest = Math.max(this.band[p]!, this.band[q]!);
			for (let k = lowest; k < highest; k++) {
				const s = (this.levels[k]! - from) / (to - from);
				this.x.push(this.x[p]! + s * (this.x[q]! - this.x[p]!));
				this.y.push(this.y[p]! + s * (this.y[q]! - this.y[p]!));
			}
		}
		return this.crossed[edge]! + band - 1 - lowest;
	}

	private edge(band: number, from: number, to: number): void {
		this.from[band]!.push(from);
		this.to[band]!.push(to);
	}

	/** Rings of a band's outline with the band to their left, split where a ring meets itself. */
	outline(band: number): Ring[] {
		const starts = this.from[band]!;
		// Edges that leave a vertex, as linked lists.
		const first = new Int32Array(this.x.length).fill(-1);
		const more = new Int32Array(starts.length);
		for (let e = starts.length - 1; e >= 0; e--) {
			more[e] = first[starts[e]!]!;
			first[starts[e]!] = e;
		}
		const place = new Int32Array(this.x.length).fill(-1);
		const rings: Ring[] = [];
		for (const start of starts) {
			if (first[start]! < 0) continue;
			const path = [start];
			place[start] = 0;
			for (;;) {
				const here = path[path.length - 1]!;
				const next = this.take(band, { first, more }, path.length > 1 ? path[path.length - 2]! : -1, here);
				if (next < 0) break;
				const before = place[next]!;
				if (before < 0) {
					place[next] = path.length;
					path.push(next);
					continue;
				}
				const loop = path.splice(before + 1);
				for (const v of loop) place[v] = -1;
				const ring = this.ring([next, ...loop]);
				if (Math.abs(ring.area) > 1e-3) rings.push(ring);
			}
			for (const v of path) place[v] = -1;
		}
		return rings;
	}

	/** Removes the edge that continues from `here`, of several the first clockwise from the previous edge; returns its end, or −1. */
	private take(
		band: number,
		{ first, more }: { first: Int32Array; more: Int32Array },
		from: number,
		here: number,
	): number {
		const ends = this.to[band]!;
		let best = first[here]!;
		if (best < 0) return -1;
		let before = -1;
		if (more[best]! >= 0 && from >= 0) {
			const back = Math.atan2(this.y[from]! - this.y[here]!, this.x[from]! - this.x[here]!);
			let least = Infinity;
			for (let e = first[here]!, last = -1; e >= 0; last = e, e = more[e]!) {
				const to = ends[e]!;
				const angle = Math.atan2(this.y[to]! - this.y[here]!, this.x[to]! - this.x[here]!);
				const turn = (((back - angle) % (2 * Math.PI)) + 2 * Math.PI) % (2 * Math.PI) || 2 * Math.PI;
				if (turn < least) [least, best, before] = [turn, e, last];
			}
		}
		if (before < 0) first[here] = more[best]!;
		else more[before] = more[best]!;
		return ends[best]!;
	}

	private ring(vertices: number[]): Ring {
		const places = vertices.map((v) => [this.x[v]!, this.y[v]!]);
		const corners = flatRing(places);
		return { vertices, area: ringArea_m2(corners), corners, box: boxAround(places) };
	}
}

/** Mean of the cells that meet at a corner. */
function mean(...values: readonly number[]): number {
	let sum = 0;
	let count = 0;
	for (const v of values) {
		if (!Number.isFinite(v)) continue;
		sum += v;
		count++;
	}
	return sum / count;
}
