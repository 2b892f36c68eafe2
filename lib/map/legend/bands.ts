import type { Feature, MultiPolygon, Position } from 'geojson';
import type { Projection } from '../../geo/utm.ts';
import type { Frame } from '../../model/index.ts';
import { Mesh } from './mesh.ts';
import { polygons, type Ring } from './rings.ts';

/**
 * Bands of yield as polygons, WGS 84. The surface between cell centers is drawn as a mesh: each cell is four
 * triangles from its center to its sides, and a corner has the mean of the cells that meet there. Each triangle is cut
 * by the levels. Edges shared by two pieces of a band cancel, which leaves the band's outline. The bands do not overlap,
 * leave no gaps, and together cover exactly the cells that have a value.
 *
 * `levels` ascend; band k is from levels[k] to levels[k + 1], and the first and last bands include all values beyond.
 */
export function yieldBands(
	frame: Frame,
	values: ArrayLike<number>,
	levels: readonly number[],
	projection: Projection,
): Feature<MultiPolygon, { from_kg_ha: number; to_kg_ha: number }>[] {
	const mesh = new Mesh(frame, values, levels);
	const features: Feature<MultiPolygon, { from_kg_ha: number; to_kg_ha: number }>[] = [];
	// Bands share their vertices.
	const known: Position[] = new Array(mesh.x.length);
	/** A vertex in degrees, to the centimeter (7 decimals). */
	const position = (vertex: number): Position => {
		known[vertex] ??= projection.inverse(mesh.x[vertex]!, mesh.y[vertex]!).map((v) => Math.round(v * 1e7) / 1e7);
		return known[vertex];
	};
	const closed = ({ vertices }: Ring): Position[] => [...vertices, vertices[0]!].map(position);
	for (let band = 0; band + 1 < levels.length; band++) {
		const coordinates = polygons(mesh.outline(band)).map((rings) => rings.map(closed));
		if (coordinates.length === 0) continue;
		features.push({
			type: 'Feature',
			properties: { from_kg_ha: levels[band]!, to_kg_ha: levels[band + 1]! },
			geometry: { type: 'MultiPolygon', coordinates },
		});
	}
	return features;
}
