import type { FeatureCollection, MultiPolygon, Polygon } from 'geojson';
import { mendBoundary, mendPolygons } from '../geo/mend-boundary.ts';
import type { BoundaryFault } from '../geo/mend-ring.ts';
import { type Note, remark, type SetAside, type Source, wholeFile } from '../model/index.ts';
import type { FilesRead } from './files-read.ts';
import { readJson } from './plan/read-json.ts';

/** Reads the field's boundary; null if it is invalid. */
export async function readBoundary(
	source: Source,
	filesRead: FilesRead,
	faults: SetAside[],
	notes: Note[],
): Promise<Polygon | MultiPolygon | null> {
	return (await repaired(mendBoundary, source, filesRead, faults, notes))?.polygon ?? null;
}

/** A file's polygons, repaired: what was repaired is noted, and what could not be is a fault. Null if it is no JSON. */
async function repaired<M extends { mends: Iterable<string>; faults: readonly BoundaryFault[] }>(
	mend: (json: unknown) => M,
	source: Source,
	filesRead: FilesRead,
	faults: SetAside[],
	notes: Note[],
): Promise<M | null> {
	const json = await readJson(source, filesRead);
	if ('fault' in json) {
		faults.push(json.fault);
		return null;
	}
	const found = mend(json.value);
	for (const text of found.mends) notes.push(remark(`${source.name}: ${text}.`));
	for (const fault of found.faults) faults.push(wholeFile(source.name, fault.found, fault.why));
	return found;
}

/** Reads polygons with the variety planted on each; null if they are invalid. */
export async function readVarieties(
	source: Source,
	filesRead: FilesRead,
	faults: SetAside[],
	notes: Note[],
): Promise<FeatureCollection<Polygon | MultiPolygon, { variety: string }> | null> {
	const polygons = await repaired(mendPolygons, source, filesRead, faults, notes);
	if (polygons === null) return null;
	const features = polygons.parts.map(({ rings, properties }, i) => {
		const variety = properties?.variety;
		if (typeof variety !== 'string' || variety.trim() === '') {
			const found = variety === undefined ? '' : String(JSON.stringify(variety));
			const why = 'every polygon of varieties needs a "variety" in its properties';
			faults.push(wholeFile(source.name, found, why, `features.${i}.properties.variety`));
		}
		return {
			type: 'Feature' as const,
			properties: { variety: String(variety).trim() },
			geometry: { type: 'Polygon' as const, coordinates: rings },
		};
	});
	return { type: 'FeatureCollection', features };
}
