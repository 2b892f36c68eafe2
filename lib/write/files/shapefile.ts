import { deflateSync, Zip, type ZipInputFile } from 'fflate';
import { joined } from '../../formats/bytes.ts';
import { crc32 } from '../../formats/crc.ts';
import type { RunOfRecords } from '../../model/index.ts';
import { FOOT_M, shown, type UnitSystem } from '../../units/index.ts';
import { Degrees } from '../bytes/degrees.ts';
import { fillOfRecord } from '../bytes/fill-of-record.ts';
import { recordedTime_s } from '../bytes/recorded.ts';
import { Stamp } from '../bytes/stamp.ts';
import { dbfTable, nameColumn, numberColumn } from './dbf.ts';

/** WGS 84 as well-known text in the dialect that shapefiles use. */
const PROJECTION =
	'GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],' +
	'PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]]';

/** The earliest time that a zip can state, in whatever time zone: always the same bytes. */
const NO_DATE = () => new Date(1980, 0, 1);

/**
 * Zipped shapefile of clean points (unflagged records with a place and a yield), WGS 84; in US units with bushels per
 * acre in addition to kg/ha. Layout: ESRI Shapefile Technical Description, July 1998.
 *
 * @param packing - where there is a faster one than that in JavaScript
 */
export function shapefileZip(run: RunOfRecords, units: UnitSystem, packing: Packing = IN_JAVASCRIPT): Uint8Array {
	const { field, track, yields } = run;
	const { records, plan } = field;
	const degrees = new Degrees(track.zone);
	const rows: number[] = [];
	const lon: number[] = [];
	const lat: number[] = [];
	for (let i = 0; i < records.n; i++) {
		if (yields.flag[i] !== 0 || !Number.isFinite(yields.corrected_kg_ha[i])) continue;
		degrees.of(track.cutX_m[i]!, track.cutY_m[i]!);
		if (!Number.isFinite(degrees.lon)) continue;
		rows.push(i);
		lon.push(degrees.lon);
		lat.push(degrees.lat);
	}
	const us = units === 'us';
	const acre = shown('yield', 'us', plan.crop).factor;
	const fills = fillOfRecord(run);
	const at = (k: number) => rows[k]!;
	const stamp = new Stamp();
	const number = (name: string, decimals: number, values: ArrayLike<number>, factor = 1) =>
		numberColumn(name, decimals, rows.length, (k) => values[at(k)]! * factor);
	const dbf = dbfTable(
		rows.length,
		[
			nameColumn('COMBINE', records.combines, (k) => records.combine[at(k)]!),
			{
				name: 'TIME_UTC',
				decimals: null,
				width: 24,
				write: (writer, k) => stamp.write(writer, recordedTime_s(records, at(k))),
			},
			number('PASS', 0, track.pass),
			nameColumn('FILL', fills.names, (k) => fills.fill[at(k)]!),
			...(us
				? [number('YLD_BUAC', 2, yields.corrected_kg_ha, acre), number('MON_BUAC', 2, yields.monitor_kg_ha, acre)]
				: []),
			number('YLD_KGHA', 1, yields.corrected_kg_ha),
			number('MON_KGHA', 1, yields.monitor_kg_ha),
			number('YLD_U_PCT', 3, yields.u_rel, 100),
			number('MOIST_PCT', 2, yields.moisture_pct),
			us ? number('AREA_FT2', 2, track.area_m2, 1 / FOOT_M ** 2) : number('AREA_M2', 3, track.area_m2),
		],
		lastDay(records.time_s),
	);
	const { shp, shx } = pointShapes(lon, lat);
	const utf8 = (text: string) => Uint8Array.from(new TextEncoder().encode(text));
	return zipped({ shp, shx, dbf, prj: utf8(PROJECTION), cpg: utf8('UTF-8') }, packing);
}

/** How bytes are compressed, by DEFLATE (RFC 1951), and their checksum for the zip. */
export interface Packing {
	deflate(bytes: Uint8Array<ArrayBuffer>): Uint8Array<ArrayBuffer>;
	crc32(bytes: Uint8Array<ArrayBuffer>): number;
}

const IN_JAVASCRIPT: Packing = { deflate: (bytes) => deflateSync(bytes, { level: 1 }), crc32 };

/** A zip of the shapefile's files, by their extensions. */
function zipped(files: Record<string, Uint8Array<ArrayBuffer>>, packing: Packing): Uint8Array {
	const parts: Uint8Array[] = [];
	const zip = new Zip((_, part) => parts.push(part));
	for (const [extension, bytes] of Object.entries(files)) {
		const file: ZipInputFile = {
			filename: `clean-points.${extension}`,
			size: bytes.length,
			crc: packing.crc32(bytes),
			compression: DEFLATED,
			mtime: NO_DATE(),
		};
		zip.add(file);
		file.ondata!(null, packing.deflate(bytes), true);
	}
	zip.end();
	return joined(parts);
}

/** The zip's own number of the method. */
const DEFLATED = 8;

/** The day of the last record, UTC: the table's date is that of the harvest, not of writing. */
function lastDay(time_s: Float64Array): Date {
	let last = 0;
	for (const t of time_s) if (t > last) last = t;
	return new Date(last * 1000);
}

const HEADER = 100;
const RECORD = 28;

function pointShapes(lon: readonly number[], lat: readonly number[]): Record<'shp' | 'shx', Uint8Array<ArrayBuffer>> {
	const n = lon.length;
	const shp = new Uint8Array(HEADER + RECORD * n);
	const shx = new Uint8Array(HEADER + 8 * n);
	const points = new DataView(shp.buffer);
	const index = new DataView(shx.buffer);
	const box = n === 0 ? [0, 0, 0, 0] : [least(lon), least(lat), most(lon), most(lat)];
	for (const [view, length] of [
		[points, shp.length],
		[index, shx.length],
	] as const) {
		view.setInt32(0, 9994);
		view.setInt32(24, length / 2);
		view.setInt32(28, 1000, true);
		view.setInt32(32, 1, true);
		for (const [k, value] of box.entries()) view.setFloat64(36 + 8 * k, value, true);
	}
	for (let k = 0; k < n; k++) {
		const at = HEADER + RECORD * k;
		points.setInt32(at, k + 1);
		points.setInt32(at + 4, 10);
		points.setInt32(at + 8, 1, true);
		points.setFloat64(at + 12, lon[k]!, true);
		points.setFloat64(at + 20, lat[k]!, true);
		index.setInt32(HEADER + 8 * k, at / 2);
		index.setInt32(HEADER + 8 * k + 4, 10);
	}
	return { shp, shx };
}

const least = (values: readonly number[]) => values.reduce((a, b) => Math.min(a, b), Infinity);
const most = (values: readonly number[]) => values.reduce((a, b) => Math.max(a, b), -Infinity);
