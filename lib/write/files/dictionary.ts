import { csvRow } from '../../formats/cell.ts';
import { FLAGS, type Run } from '../../model/index.ts';
import { FLAG_WORDS, type UnitSystem } from '../../units/index.ts';
import { addedColumns } from './clean.ts';

/** Description of a file's column. */
interface Entry {
	column: string;
	unit: string;
	/** Moisture basis of a mass or yield. */
	moisture: string;
	meaning: string;
}

const entry = (column: string, unit: string, moisture: string, meaning: string): Entry => ({
	column,
	unit,
	moisture,
	meaning,
});

/**
 * columns.csv: the dictionary of all output files. One row per column, then one row per flag.
 *
 * @param bushels - include the columns in bushels per acre
 */
export function columnsCsv(run: Run, units: UnitSystem, bushels: boolean): Uint8Array {
	const rows: (string | number)[][] = [['file', 'column', 'unit', 'moisture', 'meaning']];
	const add = (file: string, entries: readonly Entry[]) => {
		for (const e of entries) rows.push([file, e.column, e.unit, e.moisture, e.meaning]);
	};
	const market = `${run.field.plan.crop.market_moisture_pct}%`;
	const points = record(market, bushels);
	const place = [
		entry(
			'lon',
			'degrees',
			'',
			'longitude (WGS 84) of the middle of the ground on which the grain was cut, header-to-sensor delay applied',
		),
		entry('lat', 'degrees', '', 'latitude of it'),
	];
	add('points.csv', [...points.slice(0, 2), ...place, ...points.slice(2)]);
	add('points.geojson', [...points, entry('geometry', 'degrees', '', 'point, WGS 84: lon and lat of points.csv')]);
	add('points.parquet', [...points, entry('geometry', 'degrees', '', 'point as well-known binary, WGS 84')]);
	add('swaths.geojson', [
		...points,
		entry('geometry', 'degrees', '', 'polygon, WGS 84: the ground newly cut by the record'),
	]);
	add('clean.csv', [
		entry(
			'(the log’s own columns)',
			'as in the log',
			'as in the log',
			'unchanged; records left off the map are left out',
		),
		...cleanColumns(run, units, market),
	]);
	add('clean-points.zip', shapeColumns(units, market));
	add('contours.geojson', [
		entry('from_kg_ha', 'kg/ha', market, 'lower edge of the zone, corrected yield'),
		entry('to_kg_ha', 'kg/ha', market, 'upper edge of the zone'),
		...(bushels
			? [
					entry('from_bu_ac', 'bu/ac', market, 'lower edge of the zone'),
					entry('to_bu_ac', 'bu/ac', market, 'upper edge of the zone'),
				]
			: []),
	]);
	add('map.tif', [
		entry('band 1', 'kg/ha', market, 'corrected yield, mean of the cell; −9999 is no data'),
		entry('band 2', 'kg/ha', market, 'standard error of band 1 (about half of a 95% interval to either side)'),
		...(bushels
			? [
					entry('band 3', 'bu/ac', market, 'band 1 in bushels per acre'),
					entry('band 4', 'bu/ac', market, 'band 2 in bushels per acre'),
				]
			: []),
	]);
	for (const flag of FLAGS) {
		rows.push(['(flag words)', flag, '', '', flag === '' ? 'blank: the record is on the map' : FLAG_WORDS[flag]]);
	}
	return new TextEncoder().encode(`${rows.map(csvRow).join('\n')}\n`);
}

function record(market: string, bushels: boolean): Entry[] {
	return [
		entry('combine', '', '', 'name of the combine'),
		entry('time', 'UTC', '', 'time of the record as its log gave it, ISO 8601'),
		entry('pass', '', '', 'number of the pass in which the grain was cut; blank: none'),
		entry('fill', '', '', 'tank load that the grain went into: combine and number'),
		entry('flag', '', '', 'why the record is left off the map; blank: it is on it'),
		entry('area_m2', 'm²', '', 'ground newly cut that the grain came from, overlap counted once'),
		entry('moisture_pct', '%', 'wet basis', 'grain moisture with the combine’s offset applied'),
		entry(
			'monitor_yield_kg_ha',
			'kg/ha',
			market,
			'yield as recorded: the same record and ground, no factor, no moisture offset',
		),
		entry('yield_kg_ha', 'kg/ha', market, 'corrected yield: × factor, moisture offset applied'),
		entry('yield_u_rel', '', '', 'relative standard uncertainty of the corrected yield (0.02 is 2%)'),
		...(bushels
			? [
					entry('monitor_yield_bu_ac', 'bu/ac', market, 'yield as recorded, in bushels per acre'),
					entry('yield_bu_ac', 'bu/ac', market, 'corrected yield, in bushels per acre'),
				]
			: []),
	];
}

function cleanColumns(run: Run, units: UnitSystem, market: string): Entry[] {
	const [lon, lat, recorded, corrected, uncertainty] = addedColumns(run, units) as [
		string,
		string,
		string,
		string,
		string,
	];
	const unit = units === 'us' ? 'bu/ac' : 'kg/ha';
	return [
		entry(
			lon,
			'degrees',
			'',
			'longitude (WGS 84) of the middle of the ground on which the grain was cut; the log’s own position is where the machine was later',
		),
		entry(lat, 'degrees', '', 'latitude of it'),
		entry(recorded, unit, market, 'yield as recorded: no factor, no moisture offset'),
		entry(corrected, unit, market, 'corrected yield'),
		entry(uncertainty, '', '', 'relative standard uncertainty of the corrected yield (0.02 is 2%)'),
		entry('combine', '', '', 'name of the combine, where several logs have no column for it'),
	];
}

function shapeColumns(units: UnitSystem, market: string): Entry[] {
	const us = units === 'us';
	return [
		entry('COMBINE', '', '', 'name of the combine'),
		entry('TIME_UTC', 'UTC', '', 'time of the record as its log gave it'),
		entry('PASS', '', '', 'number of the pass'),
		entry('FILL', '', '', 'tank load: combine and number'),
		...(us
			? [
					entry('YLD_BUAC', 'bu/ac', market, 'corrected yield'),
					entry('MON_BUAC', 'bu/ac', market, 'yield as recorded: no factor, no moisture offset'),
				]
			: []),
		entry('YLD_KGHA', 'kg/ha', market, 'corrected yield'),
		entry('MON_KGHA', 'kg/ha', market, 'yield as recorded: no factor, no moisture offset'),
		entry('YLD_U_PCT', '%', '', 'relative standard uncertainty of the corrected yield'),
		entry('MOIST_PCT', '%', 'wet basis', 'grain moisture with the combine’s offset applied'),
		us ? entry('AREA_FT2', 'ft²', '', 'ground newly cut') : entry('AREA_M2', 'm²', '', 'ground newly cut'),
	];
}
