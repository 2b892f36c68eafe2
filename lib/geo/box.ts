/** The least box around places, in degrees or meters. */
export type Box = [west: number, south: number, east: number, north: number];

/** A box around nothing: it holds no place until it is widened. */
export const emptyBox = (): Box => [Infinity, Infinity, -Infinity, -Infinity];

/** Widens a box so that it holds a place; NaN in either coordinate spoils it. */
export function widen(box: Box, x: number, y: number): void {
	box[0] = Math.min(box[0], x);
	box[1] = Math.min(box[1], y);
	box[2] = Math.max(box[2], x);
	box[3] = Math.max(box[3], y);
}

export function boxAround(places: Iterable<readonly number[]>): Box {
	const box = emptyBox();
	for (const [x, y] of places) widen(box, x!, y!);
	return box;
}

export function inBox([west, south, east, north]: Box, x: number, y: number): boolean {
	return x >= west && x <= east && y >= south && y <= north;
}

/** True where two boxes share a place. */
export function boxesMeet(a: Box, b: Box): boolean {
	return a[0] <= b[2] && b[0] <= a[2] && a[1] <= b[3] && b[1] <= a[3];
}
