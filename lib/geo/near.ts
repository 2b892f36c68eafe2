/** Neighbor indexes: points within a radius (kdbush) and boxes that meet a box (flatbush). */
import Flatbush from 'flatbush';
import KDBush from 'kdbush';

/** Finds points near a place. */
export interface PointIndex {
	/** Indices of the points within `radius_m`, in ascending order. */
	within(x_m: number, y_m: number, radius_m: number): Uint32Array;
}

/** Points in the order of a tree, as plain columns that may go to another thread. */
export interface PointTree {
	/** Number of each point. */
	points: Uint32Array;
	/** KDBush's own form of the tree; null without points. */
	tree: ArrayBufferLike | null;
}

/** Index of points; points that are not finite are left out but keep their number. */
export const pointIndex = (x_m: ArrayLike<number>, y_m: ArrayLike<number>): PointIndex => openTree(pointTree(x_m, y_m));

/** The tree of an index of points. */
export function pointTree(x_m: ArrayLike<number>, y_m: ArrayLike<number>): PointTree {
	const points = new Uint32Array(x_m.length);
	let n = 0;
	for (let i = 0; i < x_m.length; i++) if (Number.isFinite(x_m[i]!) && Number.isFinite(y_m[i]!)) points[n++] = i;
	if (n === 0) return { points: points.slice(0, 0), tree: null };
	const index = new KDBush(n);
	for (let k = 0; k < n; k++) index.add(x_m[points[k]!]!, y_m[points[k]!]!);
	index.finish();
	return { points: points.slice(0, n), tree: index.data };
}

export function openTree({ points, tree }: PointTree): PointIndex {
	if (tree === null) return { within: () => new Uint32Array(0) };
	const index = KDBush.from(tree);
	return {
		within: (x, y, radius) => {
			const found = index.within(x, y, radius);
			const out = new Uint32Array(found.length);
			for (let k = 0; k < out.length; k++) out[k] = points[found[k]!]!;
			return out.sort();
		},
	};
}

/** Finds boxes that meet a given box. */
export interface BoxIndex {
	/** Indices of the boxes that meet the given box, in ascending order. */
	meeting(minX: number, minY: number, maxX: number, maxY: number): Uint32Array;
}

/** Index of boxes: four numbers each, minX, minY, maxX, maxY. */
export function boxIndex(boxes: Float64Array): BoxIndex {
	const n = boxes.length / 4;
	if (n === 0) return { meeting: () => new Uint32Array(0) };
	const index = new Flatbush(n);
	for (let i = 0; i < n; i++) index.add(boxes[4 * i]!, boxes[4 * i + 1]!, boxes[4 * i + 2]!, boxes[4 * i + 3]!);
	index.finish();
	return { meeting: (a, b, c, d) => Uint32Array.from(index.search(a, b, c, d)).sort() };
}
