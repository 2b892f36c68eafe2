import { crc32, deflateRawSync } from 'node:zlib';
import type { Folder, Output, Run, RunOfRecords, UnitSystem } from '../index.ts';
import * as door from '../index.ts';

/** How files show numbers. `bushels`: yields in bushels per acre beside kg/ha, in every file of records, zones and cells. */
export interface Shown {
	units: UnitSystem;
	bushels: boolean;
}

const IN_ZLIB: Parameters<typeof door.shapefileZip>[2] = {
	deflate: (bytes) => deflateRawSync(bytes, { level: 1 }),
	crc32: (bytes) => crc32(bytes),
};

async function* once(bytes: Promise<Uint8Array> | Uint8Array) {
	yield await bytes;
}

/** The files of records, which take longest to write: the shortest for this thread, which has others to make, then longest first. */
export const RECORD_FILES = {
	'points.csv': (run: RunOfRecords, { bushels }: Shown) => door.pointsCsv(run, bushels),
	'swaths.geojson': (run: RunOfRecords, { bushels }: Shown) => door.swathsGeojson(run, bushels),
	'points.parquet': (run: RunOfRecords, { bushels }: Shown) => once(door.geoparquet(run, bushels)),
	'points.geojson': (run: RunOfRecords, { bushels }: Shown) => door.pointsGeojson(run, bushels),
	'clean-points.zip': (run: RunOfRecords, { units }: Shown) => once(door.shapefileZip(run, units, IN_ZLIB)),
} satisfies Record<string, (run: RunOfRecords, shown: Shown) => ReturnType<Output['chunks']>>;

/** Every file that `correct` writes. */
export function outputs(run: Run, folder: Folder, units: UnitSystem, bushels = false): Output[] {
	const file = (name: string, chunks: Output['chunks']): Output => ({ name, chunks });
	const records = (name: keyof typeof RECORD_FILES) => file(name, () => RECORD_FILES[name](run, { units, bushels }));
	return [
		file('result.json', () => door.resultJson(run.result)),
		records('points.csv'),
		records('points.geojson'),
		file('clean.csv', () => door.cleanCsv(run, folder, units)),
		records('clean-points.zip'),
		records('points.parquet'),
		records('swaths.geojson'),
		file('contours.geojson', () => door.contoursGeojson(run, door.fieldContours(run), bushels)),
		file('map.tif', () => once(door.mapTif(run, bushels))),
		file('columns.csv', () => [door.columnsCsv(run, units, bushels)]),
		file('report.html', () => door.reportHtml(run, units)),
	];
}

/** What `compare --out` writes. */
export function comparisonOutputs(run: Run, units: UnitSystem): Output[] {
	return [
		{ name: 'compare.html', chunks: () => door.compareHtml(run, units) },
		{ name: 'compare.csv', chunks: () => [door.comparisonCsv(run)] },
	];
}
