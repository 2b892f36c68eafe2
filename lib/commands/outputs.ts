import type { Folder, Output, Run, UnitSystem } from '../index.ts';
import * as door from '../index.ts';

/**
 * Every file that `correct` writes.
 *
 * @param bushels - yields in bushels per acre beside kg/ha, in every file of records, zones and cells
 */
export function outputs(run: Run, folder: Folder, units: UnitSystem, bushels = false): Output[] {
	const file = (name: string, chunks: Output['chunks']): Output => ({ name, chunks });
	async function* once(bytes: Promise<Uint8Array> | Uint8Array) {
		yield await bytes;
	}
	return [
		file('result.json', () => door.resultJson(run.result)),
		file('points.csv', () => door.pointsCsv(run, bushels)),
		file('points.geojson', () => door.pointsGeojson(run, bushels)),
		file('clean.csv', () => door.cleanCsv(run, folder, units)),
		file('clean-points.zip', () => once(door.shapefileZip(run, units))),
		file('points.parquet', () => once(door.geoparquet(run, bushels))),
		file('swaths.geojson', () => door.swathsGeojson(run, bushels)),
		file('contours.geojson', () => door.contoursGeojson(run, bushels)),
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
