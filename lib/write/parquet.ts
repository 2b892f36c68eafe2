import type { Run } from '../model/index.ts';
import { FLAGS } from '../model/index.ts';
import { Degrees } from './degrees.ts';
import { fillOfRecord } from './fills.ts';

/**
 * GeoParquet 1.1 (https://geoparquet.org/releases/v1.1.0/) with the rows of points.csv and a point each in well-known
 * binary, WGS 84 longitude and latitude.
 */
export async function geoparquet(run: Run): Promise<Uint8Array> {
	const { parquetWriteBuffer } = await import('hyparquet-writer/src/index.js');
	const { field, track, yields } = run;
	const { records } = field;
	const { n } = records;
	const fills = fillOfRecord(run);
	const degrees = new Degrees(track.zone);
	const geometry: (Uint8Array | null)[] = new Array(n);
	const bbox = [Infinity, Infinity, -Infinity, -Infinity] as [number, number, number, number];
	for (let i = 0; i < n; i++) {
		degrees.of(track.cutX_m[i] as number, track.cutY_m[i] as number);
		const { lon, lat } = degrees;
		geometry[i] = Number.isFinite(lon) ? wkbPoint(lon, lat) : null;
		if (!Number.isFinite(lon)) continue;
		bbox[0] = Math.min(bbox[0], lon);
		bbox[1] = Math.min(bbox[1], lat);
		bbox[2] = Math.max(bbox[2], lon);
		bbox[3] = Math.max(bbox[3], lat);
	}
	const column = { encoding: 'WKB', geometry_types: ['Point'], ...(bbox[0] <= bbox[2] ? { bbox } : {}) };
	const geo = { version: '1.1.0', primary_column: 'geometry', columns: { geometry: column } };
	const numbers = (values: ArrayLike<number>) =>
		Array.from({ length: n }, (_, i) => (Number.isFinite(values[i]) ? (values[i] as number) : null));
	const texts = (value: (i: number) => string | undefined) => Array.from({ length: n }, (_, i) => value(i) || null);
	const buffer = parquetWriteBuffer({
		createdBy: 'steelyard',
		kvMetadata: [{ key: 'geo', value: JSON.stringify(geo) }],
		columnData: [
			{ name: 'combine', type: 'STRING', data: texts((i) => records.combines[records.combine[i] as number]) },
			{
				name: 'time',
				type: 'TIMESTAMP',
				data: Array.from({ length: n }, (_, i) => {
					const time_s = records.time_s[i] as number;
					return Number.isFinite(time_s) ? new Date(Math.round(time_s * 1000)) : null;
				}),
			},
			{
				name: 'pass',
				type: 'INT32',
				data: Array.from({ length: n }, (_, i) => ((track.pass[i] as number) >= 0 ? (track.pass[i] as number) : null)),
			},
			{ name: 'fill', type: 'STRING', data: texts((i) => fills.names[fills.fill[i] as number]) },
			{ name: 'flag', type: 'STRING', data: texts((i) => FLAGS[yields.flag[i] as number]) },
			{ name: 'area_m2', type: 'DOUBLE', data: numbers(track.area_m2) },
			{ name: 'moisture_pct', type: 'DOUBLE', data: numbers(yields.moisture_pct) },
			{ name: 'monitor_yield_kg_ha', type: 'DOUBLE', data: numbers(yields.monitor_kg_ha) },
			{ name: 'yield_kg_ha', type: 'DOUBLE', data: numbers(yields.corrected_kg_ha) },
			{ name: 'yield_u_rel', type: 'DOUBLE', data: numbers(yields.u_rel) },
			{ name: 'geometry', type: 'BYTE_ARRAY', data: geometry, statistics: false },
		],
	});
	return new Uint8Array(buffer);
}

/** A point in well-known binary, little-endian. */
function wkbPoint(lon: number, lat: number): Uint8Array {
	const bytes = new Uint8Array(21);
	const view = new DataView(bytes.buffer);
	view.setUint8(0, 1);
	view.setUint32(1, 1, true);
	view.setFloat64(5, lon, true);
	view.setFloat64(13, lat, true);
	return bytes;
}
