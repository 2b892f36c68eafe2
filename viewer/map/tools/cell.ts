/** The cell of the grid under a place. */
import type { Scene } from '../../../lib/model/index.ts';

/** Index into the grid's columns of values, or −1 where there is no cell or no value. */
export function cellAt(s: Scene, x_m: number, y_m: number): number {
	const { grid } = s.facts;
	if (!grid) return -1;
	// The grid is a parallelogram within centimeters, so two edges determine it.
	const [nw, ne, , sw] = grid.corners_m;
	const [ax, ay] = [ne![0] - nw![0], ne![1] - nw![1]];
	const [bx, by] = [sw![0] - nw![0], sw![1] - nw![1]];
	const [px, py] = [x_m - nw![0], y_m - nw![1]];
	const area = ax * by - ay * bx;
	const u = (px * by - py * bx) / area;
	const v = (ax * py - ay * px) / area;
	if (!(u >= 0 && u < 1 && v >= 0 && v < 1)) return -1;
	const cell = Math.floor(v * grid.rows) * grid.columns + Math.floor(u * grid.columns);
	return Number.isFinite(s.gridYield_kg_ha[cell]!) ? cell : -1;
}
