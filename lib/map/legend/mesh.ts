import type { Frame } from '../surface/frame.ts';
import type { Ring } from './rings.ts';

/** A numbered vertex of the mesh: a cell corner, a cell center, or a place where a level crosses an edge. */
interface Vertex {
	id: number;
	x: number;
	y: number;
	value: number;
}

export class Mesh {
	readonly x: number[] = [];
	readonly y: number[] = [];
	private readonly edges: Map<number, number[]>[];
	/** Number of a crossing: by edge (pair of mesh vertices), then level. */
	private readonly crossings = new Map<string, number>();
	private readonly levels: readonly number[];

	constructor(
		private readonly frame: Frame,
		values: ArrayLike<number>,
		levels: readonly number[],
	) {
		// The first and last bands are unbounded.
		this.levels = levels.map((l, k) =>
			k === 0 ? Number.NEGATIVE_INFINITY : k === levels.length - 1 ? Number.POSITIVE_INFINITY : l,
		);
		this.edges = levels.map(() => new Map());
		const { columns, rows } = frame;
		const at = (column: number, row: number) =>
			column < 0 || row < 0 || column >= columns || row >= rows ? Number.NaN : values[row * columns + column]!;
		// Corner (c, r) is the north-west corner of cell (c, r).
		const corner = (c: number, r: number): Vertex => {
			let sum = 0;
			let count = 0;
			for (const v of [at(c - 1, r - 1), at(c, r - 1), at(c - 1, r), at(c, r)]) {
				if (!Number.isFinite(v)) continue;
				sum += v;
				count++;
			}
			return this.vertex(r * (columns + 1) + c, c, r, sum / count);
		};
		const centers = (columns + 1) * (rows + 1);
		this.next = centers + columns * rows;
		for (let r = 0; r < rows; r++) {
			for (let c = 0; c < columns; c++) {
				const value = at(c, r);
				if (!Number.isFinite(value)) continue;
				const middle = this.vertex(centers + r * columns + c, c + 0.5, r + 0.5, value);
				// Counterclockwise: south-west, south-east, north-east, north-west.
				const around = [corner(c, r + 1), corner(c + 1, r + 1), corner(c + 1, r), corner(c, r)];
				const band = this.bandOf(middle.value);
				if (around.every((v) => this.bandOf(v.value) === band)) {
					for (let k = 0; k < 4; k++) this.edge(band, around[k]!.id, around[(k + 1) % 4]!.id);
				} else {
					for (let k = 0; k < 4; k++) this.triangle([middle, around[k]!, around[(k + 1) % 4]!]);
				}
			}
		}
	}

	private next: number;

	private vertex(id: number, c: number, r: number, value: number): Vertex {
		const x = this.frame.west_m + c * this.frame.cell_m;
		const y = this.frame.north_m - r * this.frame.cell_m;
		this.x[id] = x;
		this.y[id] = y;
		// Keep vertices off the levels, since a crossing at a vertex would be one place with two numbers.
		for (const level of this.levels)
			if (value === level) return { id, x, y, value: value + 1e-6 * Math.abs(value) + 1e-9 };
		return { id, x, y, value };
	}

	private bandOf(value: number): number {
		let k = 0;
		while (k + 2 < this.levels.length && value > this.levels[k + 1]!) k++;
		return k;
	}

	/** Cuts a triangle by the levels and adds the edges of each piece to its band. */
	private triangle(corners: Vertex[]): void {
		const first = Math.min(...corners.map((v) => this.bandOf(v.value)));
		const last = Math.max(...corners.map((v) => this.bandOf(v.value)));
		for (let band = first; band <= last; band++) {
			const above = this.clip(corners, band, 1);
			const piece = this.clip(above, band + 1, -1);
			for (let k = 0; k < piece.length; k++) this.edge(band, piece[k]!.id, piece[(k + 1) % piece.length]!.id);
		}
	}

	/** The part of a convex piece above (side 1) or below (side −1) a level. */
	private clip(piece: Vertex[], index: number, side: 1 | -1): Vertex[] {
		const level = this.levels[index]!;
		if (!Number.isFinite(level)) return piece;
		const kept: Vertex[] = [];
		for (let k = 0; k < piece.length; k++) {
			const a = piece[k]!;
			const b = piece[(k + 1) % piece.length]!;
			const keepsA = side * (a.value - level) >= 0;
			const keepsB = side * (b.value - level) >= 0;
			if (keepsA) kept.push(a);
			if (keepsA !== keepsB && a.value !== level && b.value !== level) kept.push(this.crossing(a, b, level, index));
		}
		return kept;
	}

	private crossing(a: Vertex, b: Vertex, level: number, index: number): Vertex {
		const [p, q] = a.id < b.id ? [a, b] : [b, a];
		const s = (level - p.value) / (q.value - p.value);
		const x = p.x + s * (q.x - p.x);
		const y = p.y + s * (q.y - p.y);
		const key = `${p.id} ${q.id} ${index}`;
		let id = this.crossings.get(key);
		if (id === undefined) {
			id = this.next++;
			this.crossings.set(key, id);
			this.x[id] = x;
			this.y[id] = y;
		}
		return { id, x, y, value: level };
	}

	private edge(band: number, from: number, to: number): void {
		if (from === to) return;
		const edges = this.edges[band]!;
		const back = edges.get(to);
		const found = back ? back.indexOf(from) : -1;
		if (back && found >= 0) {
			back.splice(found, 1);
			if (back.length === 0) edges.delete(to);
			return;
		}
		const out = edges.get(from);
		if (out) out.push(to);
		else edges.set(from, [to]);
	}

	/** Rings of a band's outline with the band to their left, split where a ring meets itself. */
	outline(band: number): Ring[] {
		const edges = this.edges[band]!;
		const rings: Ring[] = [];
		while (edges.size > 0) {
			const start = edges.keys().next().value as number;
			const path = [start];
			const seen = new Map([[start, 0]]);
			while (path.length > 0) {
				const here = path[path.length - 1]!;
				const next = this.take(edges, path.length > 1 ? path[path.length - 2]! : -1, here);
				if (next < 0) break;
				const before = seen.get(next);
				if (before === undefined) {
					seen.set(next, path.length);
					path.push(next);
					continue;
				}
				const loop = path.splice(before + 1);
				for (const v of loop) seen.delete(v);
				const ring = this.ring([next, ...loop]);
				if (Math.abs(ring.area) > 1e-3) rings.push(ring);
				if (before === 0 && !edges.has(next)) break;
			}
		}
		return rings;
	}

	/** Removes and returns the edge that continues from `here`; of several, the first clockwise from the previous edge. */
	private take(edges: Map<number, number[]>, from: number, here: number): number {
		const out = edges.get(here);
		if (!out || out.length === 0) return -1;
		let best = 0;
		if (out.length > 1 && from >= 0) {
			const back = Math.atan2(this.y[from]! - this.y[here]!, this.x[from]! - this.x[here]!);
			let least = Number.POSITIVE_INFINITY;
			out.forEach((to, k) => {
				const angle = Math.atan2(this.y[to]! - this.y[here]!, this.x[to]! - this.x[here]!);
				const turn = (((back - angle) % (2 * Math.PI)) + 2 * Math.PI) % (2 * Math.PI) || 2 * Math.PI;
				if (turn < least) [least, best] = [turn, k];
			});
		}
		const [to] = out.splice(best, 1);
		if (out.length === 0) edges.delete(here);
		return to!;
	}

	private ring(vertices: number[]): Ring {
		let area = 0;
		const x0 = this.x[vertices[0]!]!;
		const y0 = this.y[vertices[0]!]!;
		for (let k = 0; k < vertices.length; k++) {
			const a = vertices[k]!;
			const b = vertices[(k + 1) % vertices.length]!;
			area += (this.x[a]! - x0) * (this.y[b]! - y0) - (this.x[b]! - x0) * (this.y[a]! - y0);
		}
		return { vertices, area: area / 2, xs: vertices.map((v) => this.x[v]!), ys: vertices.map((v) => this.y[v]!) };
	}
}
