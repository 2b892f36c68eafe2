import { FLAGS, type RunOfRecords } from '../../model/index.ts';
import { ByteWriter } from '../bytes/byte-writer.ts';
import { Degrees } from '../bytes/degrees.ts';
import { fillOfRecord } from '../bytes/fill-of-record.ts';
import { recordedTime_s } from '../bytes/recorded.ts';
import { Stamp } from '../bytes/stamp.ts';
import { csvCells, jsonTexts } from '../bytes/text.ts';
import { BUSHEL_COLUMNS, perAcre } from './bushels.ts';

const COMMA = 44;
const LF = 10;

/** Decimals of each number: a centimeter, a liter of ground, a gram of yield per square meter and finer. */
export const DECIMALS = { degrees: 7, area: 3, moisture: 3, yield: 2, u_rel: 6 } as const;

export const COLUMNS = [
	'combine',
	'time',
	'lon',
	'lat',
	'pass',
	'fill',
	'flag',
	'area_m2',
	'moisture_pct',
	'monitor_yield_kg_ha',
	'yield_kg_ha',
	'yield_u_rel',
] as const;

/**
 * points.csv: one row per record of every log, in the logs' order. Missing values are blank.
 *
 * @param bushels - add yields in bushels per acre after the usual columns
 */
export function* pointsCsv(run: RunOfRecords, bushels = false): Generator<Uint8Array> {
	const acre = perAcre(run);
	const { field, track, yields } = run;
	const { records } = field;
	const combines = csvCells(records.combines);
	const flags = csvCells(FLAGS);
	const fills = fillOfRecord(run);
	const fillNames = csvCells(fills.names);
	const degrees = new Degrees(track.zone);
	const stamp = new Stamp();
	const writer = new ByteWriter();
	const number = (value: number, decimals: number) => {
		writer.code(COMMA);
		writer.fixed(value, decimals);
	};
	writer.text(`${[...COLUMNS, ...(bushels ? BUSHEL_COLUMNS : [])].join(',')}\n`);
	for (let i = 0; i < records.n; i++) {
		writer.raw(combines[records.combine[i]!] as Uint8Array);
		writer.code(COMMA);
		stamp.write(writer, recordedTime_s(records, i));
		degrees.of(track.cutX_m[i]!, track.cutY_m[i]!);
		number(degrees.lon, DECIMALS.degrees);
		number(degrees.lat, DECIMALS.degrees);
		writer.code(COMMA);
		if (track.pass[i]! >= 0) writer.integer(track.pass[i]!);
		writer.code(COMMA);
		if (fills.fill[i]! >= 0) writer.raw(fillNames[fills.fill[i]!] as Uint8Array);
		writer.code(COMMA);
		writer.raw(flags[yields.flag[i]!] as Uint8Array);
		number(track.area_m2[i]!, DECIMALS.area);
		number(yields.moisture_pct[i]!, DECIMALS.moisture);
		number(yields.monitor_kg_ha[i]!, DECIMALS.yield);
		number(yields.corrected_kg_ha[i]!, DECIMALS.yield);
		number(yields.u_rel[i]!, DECIMALS.u_rel);
		if (bushels) {
			number(yields.monitor_kg_ha[i]! * acre, DECIMALS.yield);
			number(yields.corrected_kg_ha[i]! * acre, DECIMALS.yield);
		}
		writer.code(LF);
		if (writer.full) yield writer.drain();
	}
	yield writer.drain();
}

/** Writes the properties that points and swaths share, including `{` and `}`. */
export class Properties {
	private readonly stamp = new Stamp();
	private readonly combines: Uint8Array[];
	private readonly flags = jsonTexts(FLAGS);
	private readonly fills: { names: string[]; fill: Int32Array };
	private readonly fillNames: Uint8Array[];
	private readonly acre: number;

	constructor(
		private readonly run: RunOfRecords,
		private readonly writer: ByteWriter,
		private readonly bushels = false,
	) {
		this.acre = perAcre(run);
		this.combines = jsonTexts(run.field.records.combines);
		this.fills = fillOfRecord(run);
		this.fillNames = jsonTexts(this.fills.names);
	}

	write(i: number): void {
		const { writer } = this;
		const { field, track, yields } = this.run;
		const { records } = field;
		writer.text('{"combine":');
		writer.raw(this.combines[records.combine[i]!] as Uint8Array);
		const time_s = recordedTime_s(records, i);
		writer.text(Number.isFinite(time_s) ? ',"time":"' : ',"time":null');
		if (Number.isFinite(time_s)) {
			this.stamp.write(writer, time_s);
			writer.code(34);
		}
		writer.text(',"pass":');
		if (track.pass[i]! >= 0) writer.integer(track.pass[i]!);
		else writer.text('null');
		writer.text(',"fill":');
		const fill = this.fills.fill[i]!;
		if (fill >= 0) writer.raw(this.fillNames[fill]!);
		else writer.text('null');
		writer.text(',"flag":');
		writer.raw(this.flags[yields.flag[i]!] as Uint8Array);
		this.number(',"area_m2":', track.area_m2[i]!, DECIMALS.area);
		this.number(',"moisture_pct":', yields.moisture_pct[i]!, DECIMALS.moisture);
		this.number(',"monitor_yield_kg_ha":', yields.monitor_kg_ha[i]!, DECIMALS.yield);
		this.number(',"yield_kg_ha":', yields.corrected_kg_ha[i]!, DECIMALS.yield);
		this.number(',"yield_u_rel":', yields.u_rel[i]!, DECIMALS.u_rel);
		if (this.bushels) {
			this.number(',"monitor_yield_bu_ac":', yields.monitor_kg_ha[i]! * this.acre, DECIMALS.yield);
			this.number(',"yield_bu_ac":', yields.corrected_kg_ha[i]! * this.acre, DECIMALS.yield);
		}
		writer.code(125);
	}

	private number(name: string, value: number, decimals: number): void {
		this.writer.text(name);
		if (Number.isFinite(value)) this.writer.fixed(value, decimals);
		else this.writer.text('null');
	}
}

/** points.geojson: the rows of points.csv as RFC 7946 features, one per line; a record without a position has no geometry. */
export function* pointsGeojson(run: RunOfRecords, bushels = false): Generator<Uint8Array> {
	const { field, track } = run;
	const degrees = new Degrees(track.zone);
	const writer = new ByteWriter();
	const properties = new Properties(run, writer, bushels);
	writer.text('{"type":"FeatureCollection","features":[');
	for (let i = 0; i < field.records.n; i++) {
		writer.text(i === 0 ? '\n' : ',\n');
		degrees.of(track.cutX_m[i]!, track.cutY_m[i]!);
		writer.text('{"type":"Feature","geometry":');
		if (Number.isFinite(degrees.lon)) {
			writer.text('{"type":"Point","coordinates":[');
			writer.fixed(degrees.lon, DECIMALS.degrees);
			writer.code(COMMA);
			writer.fixed(degrees.lat, DECIMALS.degrees);
			writer.text(']}');
		} else writer.text('null');
		writer.text(',"properties":');
		properties.write(i);
		writer.code(125);
		if (writer.full) yield writer.drain();
	}
	writer.text('\n]}\n');
	yield writer.drain();
}
