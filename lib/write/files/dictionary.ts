import { csvRow } from '../../formats/csv-cell.ts';
import { FLAGS, type Run } from '../../model/index.ts';
import { FLAG_WORDS, type UnitSystem } from '../../units/index.ts';
import { addedColumns } from './clean.ts';

/** A file's column; the moisture basis is that of a mass or yield. */
type Entry = readonly [column: string, unit: string, moisture: string, meaning: string];

const U_REL: Entry = ['yield_u_rel', '', '', 'relative standard uncertainty of the corrected yield (0.02 is 2%)'];

/**
 * columns.csv: the dictionary of all output files. One row per column, then one row per flag.
 *
 * @param bushels - include the columns in bushels per acre
 */
export function columnsCsv(run: Run, units: UnitSystem, bushels: boolean): Uint8Array {
	const rows: (string | number)[][] = [['file', 'column', 'unit', 'moisture', 'meaning']];
	const add = (file: string, acres: boolean, entries: readonly Entry[]) => {
		for (const entry of entries) if (acres || entry[1] !== 'bu/ac') rows.push([file, ...entry]);
	};
	const us = units === 'us';
	const market = `${run.field.plan.crop.market_moisture_pct}%`;
	const points = record(market);
	add('points.csv', bushels, [
		...points.slice(0, 2),
		[
			'lon',
			'degrees',
			'',
			'longitude (WGS 84) of the middle of the ground on which the grain was cut, header-to-sensor delay applied',
		],
		['lat', 'degrees', '', 'latitude of it'],
		...points.slice(2),
	]);
	const geometry = (what: string): Entry => ['geometry', 'degrees', '', what];
	add('points.geojson', bushels, [...points, geometry('point, WGS 84: lon and lat of points.csv')]);
	add('points.parquet', bushels, [...points, geometry('point as well-known binary, WGS 84')]);
	add('swaths.geojson', bushels, [...points, geometry('polygon, WGS 84: the ground newly cut by the record')]);
	const asInLog = 'as in the log';
	add('clean.csv', us, [
		['(the log’s own columns)', asInLog, asInLog, 'unchanged; records left off the map are left out'],
		...cleanColumns(run, units, market),
	]);
	add('clean-points.zip', us, shapeColumns(us, market));
	add('contours.geojson', bushels, [
		['from_kg_ha', 'kg/ha', market, 'lower edge of the zone, corrected yield'],
		['to_kg_ha', 'kg/ha', market, 'upper edge of the zone'],
		['from_bu_ac', 'bu/ac', market, 'lower edge of the zone'],
		['to_bu_ac', 'bu/ac', market, 'upper edge of the zone'],
	]);
	add('map.tif', bushels, [
		['band 1', 'kg/ha', market, 'corrected yield, mean of the cell; −9999 is no data'],
		['band 2', 'kg/ha', market, 'standard error of band 1 (about half of a 95% interval to either side)'],
		['band 3', 'bu/ac', market, 'band 1 in bushels per acre'],
		['band 4', 'bu/ac', market, 'band 2 in bushels per acre'],
	]);
	for (const flag of FLAGS) {
		rows.push(['(flag words)', flag, '', '', flag === '' ? 'blank: the record is on the map' : FLAG_WORDS[flag]]);
	}
	return new TextEncoder().encode(`${rows.map(csvRow).join('\n')}\n`);
}

/** Columns of the files of all records. */
const record = (market: string): Entry[] => [
	['combine', '', '', 'name of the combine'],
	['time', 'UTC', '', 'time of the record as its log gave it, ISO 8601'],
	['pass', '', '', 'number of the pass in which the grain was cut; blank: none'],
	['fill', '', '', 'tank load that the grain went into: combine and number'],
	['flag', '', '', 'why the record is left off the map; blank: it is on it'],
	['area_m2', 'm²', '', 'ground newly cut that the grain came from, overlap counted once'],
	['moisture_pct', '%', 'wet basis', 'grain moisture with the combine’s offset applied'],
	[
		'monitor_yield_kg_ha',
		'kg/ha',
		market,
		'yield as recorded: the same record and ground, no factor, no moisture offset',
	],
	['yield_kg_ha', 'kg/ha', market, 'corrected yield: × factor, moisture offset applied'],
	U_REL,
	['monitor_yield_bu_ac', 'bu/ac', market, 'yield as recorded, in bushels per acre'],
	['yield_bu_ac', 'bu/ac', market, 'corrected yield, in bushels per acre'],
];

function cleanColumns(run: Run, units: UnitSystem, market: string): Entry[] {
	const [lon = '', lat = '', recorded = '', corrected = ''] = addedColumns(run, units);
	const unit = units === 'us' ? 'bu/ac' : 'kg/ha';
	return [
		[
			lon,
			'degrees',
			'',
			'longitude (WGS 84) of the middle of the ground on which the grain was cut; the log’s own position is where the machine was later',
		],
		[lat, 'degrees', '', 'latitude of it'],
		[recorded, unit, market, 'yield as recorded: no factor, no moisture offset'],
		[corrected, unit, market, 'corrected yield'],
		U_REL,
		['combine', '', '', 'name of the combine, where several logs have no column for it'],
	];
}

const shapeColumns = (us: boolean, market: string): Entry[] => [
	['COMBINE', '', '', 'name of the combine'],
	['TIME_UTC', 'UTC', '', 'time of the record as its log gave it'],
	['PASS', '', '', 'number of the pass'],
	['FILL', '', '', 'tank load: combine and number'],
	['YLD_BUAC', 'bu/ac', market, 'corrected yield'],
	['MON_BUAC', 'bu/ac', market, 'yield as recorded: no factor, no moisture offset'],
	['YLD_KGHA', 'kg/ha', market, 'corrected yield'],
	['MON_KGHA', 'kg/ha', market, 'yield as recorded: no factor, no moisture offset'],
	['YLD_U_PCT', '%', '', 'relative standard uncertainty of the corrected yield'],
	['MOIST_PCT', '%', 'wet basis', 'grain moisture with the combine’s offset applied'],
	us ? ['AREA_FT2', 'ft²', '', 'ground newly cut'] : ['AREA_M2', 'm²', '', 'ground newly cut'],
];
