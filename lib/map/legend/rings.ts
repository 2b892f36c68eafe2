/** Rings of a band's outline and the polygons that they form. */

export interface Ring {
	vertices: number[];
	/** Signed, positive counterclockwise. */
	area: number;
	xs: number[];
	ys: number[];
}

/** Outer rings with their holes; each hole belongs to the smallest outer ring around it. */
export function polygons(rings: Ring[]): Ring[][] {
	const outers = rings.filter((r) => r.area > 0).sort((a, b) => a.area - b.area);
	const list = outers.map((outer) => [outer]);
	const boxes = outers.map(({ xs, ys }) => ({ x: extent(xs), y: extent(ys) }));
	const near = ({ x, y }: (typeof boxes)[number], px: number, py: number) =>
		px >= x[0] && px <= x[1] && py >= y[0] && py <= y[1];
	for (const hole of rings) {
		if (hole.area >= 0) continue;
		// Test the middle of an edge, since rings may share corners but not edges.
		const x = (hole.xs[0]! + hole.xs[1]!) / 2;
		const y = (hole.ys[0]! + hole.ys[1]!) / 2;
		const home = outers.findIndex(
			(outer, k) => outer.area > -hole.area && near(boxes[k]!, x, y) && inside(outer, x, y),
		);
		if (home >= 0) list[home]!.push(hole);
	}
	return list.reverse();
}

function extent(values: readonly number[]): [number, number] {
	let least = values[0]!;
	let most = values[0]!;
	for (const v of values) {
		if (v < least) least = v;
		if (v > most) most = v;
	}
	return [least, most];
}

function inside(ring: Ring, x: number, y: number): boolean {
	let odd = false;
	const { xs, ys } = ring;
	for (let i = 0, j = xs.length - 1; i < xs.length; j = i++) {
		if (ys[i]! > y !== ys[j]! > y && x < ((xs[j]! - xs[i]!) * (y - ys[i]!)) / (ys[j]! - ys[i]!) + xs[i]!) odd = !odd;
	}
	return odd;
}
