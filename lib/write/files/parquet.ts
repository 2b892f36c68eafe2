import { emptyBox, widen } from '../../geo/box.ts';
import type { RunOfRecords } from '../../model/index.ts';
import { FLAGS } from '../../model/index.ts';
import { Degrees } from '../bytes/degrees.ts';
import { fillOfRecord } from '../bytes/fill-of-record.ts';
import { recordedTime_s } from '../bytes/recorded.ts';
import { perAcre } from './bushels.ts';

/**
 * GeoParquet 1.1 (https://geoparquet.org/releases/v1.1.0/) with the rows of points.csv, each with a point in
 * well-known binary, WGS 84 longitude and latitude. Numbers are in single precision, seven digits.
 */
export async function geoparquet(run: RunOfRecords, bushels = false): Promise<Uint8Array> {
	const { ByteWriter, ParquetWriter, schemaFromColumnData } = await import('hyparquet-writer/src/index.js');
	const { n } = run.field.records;
	const columns = columnsOf(run, bushels);
	const writer = new ByteWriter(1 << 16);
	const parquet = new ParquetWriter({
		writer,
		schema: schemaFromColumnData({ columnData: columns.map((column) => block(column, 0, 0)) }),
		// Measured values hardly compress: a tenth of the file for half of the time.
		codec: 'UNCOMPRESSED',
		createdBy: 'steelyard',
		kvMetadata: [
			{ key: 'geo', value: JSON.stringify(geoMetadata(run)) },
			{ key: 'description', value: 'columns.csv beside this file says what each column holds' },
		],
	});
	// Values as objects take a lot of memory and time to clean up: one block of rows at a time.
	for (let from = 0; from === 0 || from < n; from += ROWS) {
		const columnData = columns.map((column) => block(column, from, Math.min(n, from + ROWS)));
		await parquet.write({ columnData, rowGroupSize: ROWS });
	}
	await parquet.finish();
	return new Uint8Array(writer.getBuffer());
}

/** Rows per group: short lists of values are young when they are done with. */
const ROWS = 10_000;

interface Column {
	name: string;
	type: 'STRING' | 'TIMESTAMP' | 'INT32' | 'FLOAT' | 'BYTE_ARRAY';
	/** Value of a row; null where it is missing. */
	value(i: number): string | Date | number | Uint8Array | null;
}

function block({ name, type, value }: Column, from: number, to: number) {
	const data = new Array<ReturnType<typeof value>>(to - from);
	for (let i = from; i < to; i++) data[i - from] = value(i);
	// Measured values rarely repeat: a dictionary of them would cost time and save nothing.
	if (type === 'FLOAT') return { name, type, data, encoding: 'PLAIN' as const };
	if (type === 'BYTE_ARRAY') return { name, type, data, encoding: 'PLAIN' as const, statistics: false };
	// Minimum and maximum of a few names are useless.
	return type === 'STRING' ? { name, type, data, statistics: false } : { name, type, data };
}

function columnsOf(run: RunOfRecords, bushels: boolean): Column[] {
	const acre = perAcre(run);
	const { field, track, yields } = run;
	const { records } = field;
	const fills = fillOfRecord(run);
	const degrees = new Degrees(track.zone);
	const points = new WkbPoints();
	const number = (name: string, values: ArrayLike<number>, factor = 1): Column => ({
		name,
		type: 'FLOAT',
		value: (i) => (Number.isFinite(values[i]) ? values[i]! * factor : null),
	});
	return [
		{ name: 'combine', type: 'STRING', value: (i) => records.combines[records.combine[i]!] as string },
		{
			name: 'time',
			type: 'TIMESTAMP',
			value: (i) => {
				const time_s = recordedTime_s(records, i);
				return Number.isFinite(time_s) ? new Date(Math.round(time_s * 1000)) : null;
			},
		},
		{ name: 'pass', type: 'INT32', value: (i) => (track.pass[i]! >= 0 ? track.pass[i]! : null) },
		{ name: 'fill', type: 'STRING', value: (i) => fills.names[fills.fill[i]!] ?? null },
		{ name: 'flag', type: 'STRING', value: (i) => FLAGS[yields.flag[i]!] || null },
		number('area_m2', track.area_m2),
		number('moisture_pct', yields.moisture_pct),
		number('monitor_yield_kg_ha', yields.monitor_kg_ha),
		number('yield_kg_ha', yields.corrected_kg_ha),
		number('yield_u_rel', yields.u_rel),
		...(bushels
			? [number('monitor_yield_bu_ac', yields.monitor_kg_ha, acre), number('yield_bu_ac', yields.corrected_kg_ha, acre)]
			: []),
		{
			name: 'geometry',
			type: 'BYTE_ARRAY',
			value: (i) => {
				degrees.of(track.cutX_m[i]!, track.cutY_m[i]!);
				return Number.isFinite(degrees.lon) ? points.next(degrees.lon, degrees.lat) : null;
			},
		},
	];
}

/** The file's `geo` entry. Without a `crs`, coordinates are longitude and latitude, WGS 84. */
function geoMetadata({ field, track }: RunOfRecords): object {
	const degrees = new Degrees(track.zone);
	const bbox = emptyBox();
	for (let i = 0; i < field.records.n; i++) {
		degrees.of(track.cutX_m[i]!, track.cutY_m[i]!);
		if (Number.isFinite(degrees.lon)) widen(bbox, degrees.lon, degrees.lat);
	}
	const geometry = { encoding: 'WKB', geometry_types: ['Point'], ...(bbox[0] <= bbox[2] ? { bbox } : {}) };
	return { version: '1.1.0', primary_column: 'geometry', columns: { geometry } };
}

/**
 * Points in well-known binary, little-endian, many per buffer: a separate buffer for each would take more memory than
 * its bytes.
 */
class WkbPoints {
	private bytes = new Uint8Array(0);
	private view = new DataView(this.bytes.buffer);
	private at = 0;

	next(lon: number, lat: number): Uint8Array {
		if (this.at === this.bytes.length) {
			this.bytes = new Uint8Array(WKB_POINT * POINTS);
			this.view = new DataView(this.bytes.buffer);
			this.at = 0;
		}
		const { at, view } = this;
		view.setUint8(at, 1);
		view.setUint32(at + 1, 1, true);
		view.setFloat64(at + 5, lon, true);
		view.setFloat64(at + 13, lat, true);
		this.at += WKB_POINT;
		return this.bytes.subarray(at, this.at);
	}
}

/** Bytes per point, and points per buffer. */
const WKB_POINT = 21;
const POINTS = 4096;
