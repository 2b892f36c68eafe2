/** Rings of a band's outline and the polygons that they form. */
import { type Box, inBox } from '../../geo/box.ts';
import { insideRings } from '../../geo/ring.ts';

export interface Ring {
	vertices: number[];
	/** Signed, positive counterclockwise. */
	area: number;
	/** Its vertices' places, x, y pairs in meters. */
	corners: Float64Array;
	box: Box;
}

/** Outer rings with their holes; each hole belongs to the smallest outer ring around it. */
export function polygons(rings: Ring[]): Ring[][] {
	const outers = rings.filter((r) => r.area > 0).sort((a, b) => a.area - b.area);
	const list = outers.map((outer) => [outer]);
	for (const hole of rings) {
		if (hole.area >= 0) continue;
		// Test the middle of an edge, since rings may share corners but not edges.
		const x = (hole.corners[0]! + hole.corners[2]!) / 2;
		const y = (hole.corners[1]! + hole.corners[3]!) / 2;
		const home = outers.findIndex(
			({ area, box, corners }) => area > -hole.area && inBox(box, x, y) && insideRings([corners], x, y),
		);
		if (home >= 0) list[home]!.push(hole);
	}
	return list.reverse();
}
