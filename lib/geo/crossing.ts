import Flatbush from 'flatbush';
import type { Position } from 'geojson';

/**
 * A place where the rings of one polygon cross: two edges of one ring that meet other than at their common end, or edges
 * of two rings that cross. Null where there is none. Rings must be closed, without repeated points.
 */
export function crossing(rings: readonly Position[][]): Position | null {
	const edges: { a: Position; b: Position; ring: number; at: number; last: number }[] = [];
	rings.forEach((ring, r) => {
		for (let i = 0; i + 1 < ring.length; i++) {
			edges.push({ a: ring[i]!, b: ring[i + 1]!, ring: r, at: i, last: ring.length - 2 });
		}
	});
	if (edges.length === 0) return null;
	const boxes = new Flatbush(edges.length);
	const box = (e: { a: Position; b: Position }): [number, number, number, number] => {
		const [ax, ay] = e.a as [number, number];
		const [bx, by] = e.b as [number, number];
		return [Math.min(ax, bx), Math.min(ay, by), Math.max(ax, bx), Math.max(ay, by)];
	};
	for (const e of edges) boxes.add(...box(e));
	boxes.finish();
	for (let i = 0; i < edges.length; i++) {
		const e = edges[i]!;
		for (const j of boxes.search(...box(e), (k) => k > i)) {
			const f = edges[j]!;
			const sameRing = e.ring === f.ring;
			const gap = Math.abs(e.at - f.at);
			if (sameRing && (gap === 1 || gap === e.last)) continue;
			if (meets(e.a, e.b, f.a, f.b, sameRing)) return e.a;
		}
	}
	return null;
}

function side(p: Position, a: Position, b: Position): number {
	const [px, py] = p as [number, number];
	const [ax, ay] = a as [number, number];
	const [bx, by] = b as [number, number];
	return Math.sign((bx - ax) * (py - ay) - (by - ay) * (px - ax));
}

/** True where two edges cross or, with `touching`, have any point in common. Their boxes must overlap. */
function meets(a: Position, b: Position, c: Position, d: Position, touching: boolean): boolean {
	const across = side(c, a, b) * side(d, a, b);
	const along = side(a, c, d) * side(b, c, d);
	return touching ? across <= 0 && along <= 0 : across < 0 && along < 0;
}
