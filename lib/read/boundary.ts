import type { FeatureCollection, MultiPolygon, Polygon } from 'geojson';
import { mendBoundary, mendPolygons } from '../geo/boundary.ts';
import type { Note, SetAside, Source } from '../model/index.ts';
import { readJson } from './plan/json.ts';
import type { Tally } from './tally.ts';

/** Reads the field's boundary; null if it is invalid. */
export async function readBoundary(
	source: Source,
	tally: Tally,
	faults: SetAside[],
	notes: Note[],
): Promise<Polygon | MultiPolygon | null> {
	const json = await readJson(source, tally);
	if ('fault' in json) {
		faults.push(json.fault);
		return null;
	}
	const repaired = mendBoundary(json.value);
	for (const text of repaired.mends) notes.push({ level: 'note', text: `${source.name}: ${text}.` });
	for (const { found, why } of repaired.faults) faults.push({ file: source.name, row: null, column: null, found, why });
	return repaired.polygon;
}

/** Reads polygons with the variety planted on each; null if they are invalid. */
export async function readVarieties(
	source: Source,
	tally: Tally,
	faults: SetAside[],
	notes: Note[],
): Promise<FeatureCollection<Polygon | MultiPolygon, { variety: string }> | null> {
	const json = await readJson(source, tally);
	if ('fault' in json) {
		faults.push(json.fault);
		return null;
	}
	const repaired = mendPolygons(json.value);
	for (const text of repaired.mends) notes.push({ level: 'note', text: `${source.name}: ${text}.` });
	for (const { found, why } of repaired.faults) faults.push({ file: source.name, row: null, column: null, found, why });
	const features = repaired.parts.map(({ rings, properties }, i) => {
		const variety = properties?.variety;
		if (typeof variety !== 'string' || variety.trim() === '') {
			faults.push({
				file: source.name,
				row: null,
				column: `features.${i}.properties.variety`,
				found: variety === undefined ? '' : String(JSON.stringify(variety)),
				why: 'every polygon of varieties needs a "variety" in its properties',
			});
		}
		return {
			type: 'Feature' as const,
			properties: { variety: String(variety).trim() },
			geometry: { type: 'Polygon' as const, coordinates: rings },
		};
	});
	return { type: 'FeatureCollection', features };
}
