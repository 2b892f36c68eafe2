import type { FeatureCollection, MultiPolygon, Polygon, Position } from 'geojson';
import type { Records, Track } from '../model/index.ts';

/** The variety of most of a pass's records, from the log's column or else the polygons; null where neither has it. */
export function varietyOfPasses(
	records: Records,
	track: Track,
	layer: FeatureCollection<Polygon | MultiPolygon, { variety: string }> | null,
): (pass: number) => string | null {
	const known = new Map<number, string | null>();
	return (pass) => {
		if (!known.has(pass)) known.set(pass, varietyOf(records, track, layer, pass));
		return known.get(pass)!;
	};
}

function varietyOf(
	records: Records,
	track: Track,
	layer: FeatureCollection<Polygon | MultiPolygon, { variety: string }> | null,
	pass: number,
): string | null {
	const count = new Map<string, number>();
	const own = track.passes[pass]!.records;
	// Twenty places are enough for a pass's variety.
	const step = Math.max(1, Math.floor(own.length / 20));
	for (let k = 0; k < own.length; k += step) {
		const i = own[k]!;
		const column = records.variety[i]!;
		const name =
			column >= 0
				? records.varieties[column]!
				: layer
					? inLayer(layer, records.lon_deg[i]!, records.lat_deg[i]!)
					: null;
		if (name) count.set(name, (count.get(name) ?? 0) + 1);
	}
	let best: string | null = null;
	let most = 0;
	for (const [name, n] of count) {
		if (n > most) {
			most = n;
			best = name;
		}
	}
	return best;
}

function inLayer(
	layer: FeatureCollection<Polygon | MultiPolygon, { variety: string }>,
	lon: number,
	lat: number,
): string | null {
	for (const f of layer.features) {
		const polygons = f.geometry.type === 'Polygon' ? [f.geometry.coordinates] : f.geometry.coordinates;
		for (const rings of polygons) {
			if (rings.length > 0 && inRing(rings[0]!, lon, lat) && !rings.slice(1).some((r) => inRing(r, lon, lat))) {
				return f.properties.variety;
			}
		}
	}
	return null;
}

/** Even–odd rule. */
function inRing(ring: readonly Position[], x: number, y: number): boolean {
	let odd = false;
	for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
		const [xi, yi] = ring[i] as [number, number];
		const [xj, yj] = ring[j] as [number, number];
		if (yi > y !== yj > y && x < ((xj - xi) * (y - yi)) / (yj - yi) + xi) odd = !odd;
	}
	return odd;
}
