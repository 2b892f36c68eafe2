import type { FeatureCollection, MultiPolygon, Polygon } from 'geojson';
import { flatRing, insideRings, polygonsOf, type Rings } from '../geo/ring.ts';
import { type Records, remembered, type Track } from '../model/index.ts';
import { mode } from '../stats/index.ts';

/** Ground of one variety: a polygon's rings in degrees. */
interface Area {
	variety: string;
	rings: Rings;
}

/** The variety of most of a pass's records, from the log's column or else the polygons; null where neither has it. */
export function varietyOfPasses(
	records: Records,
	track: Track,
	layer: FeatureCollection<Polygon | MultiPolygon, { variety: string }> | null,
): (pass: number) => string | null {
	const areas = (layer?.features ?? []).flatMap(({ geometry, properties: { variety } }) =>
		polygonsOf(geometry).map((rings): Area => ({ variety, rings: rings.map(flatRing) })),
	);
	const known = new Map<number, string | null>();
	return (pass) => remembered(known, pass, () => varietyOf(records, track, areas, pass));
}

function varietyOf(records: Records, track: Track, areas: readonly Area[], pass: number): string | null {
	const own = track.passes[pass]!.records;
	// Twenty places are enough for a pass's variety.
	const step = Math.max(1, Math.floor(own.length / 20));
	const names: string[] = [];
	for (let k = 0; k < own.length; k += step) {
		const i = own[k]!;
		const column = records.variety[i]!;
		const name =
			column >= 0
				? records.varieties[column]
				: areas.find(({ rings }) => insideRings(rings, records.lon_deg[i]!, records.lat_deg[i]!))?.variety;
		if (name) names.push(name);
	}
	return mode(names) ?? null;
}
