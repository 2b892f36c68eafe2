import { csvCell, harmless, separatorOf, unquoted } from '../../formats/csv-cell.ts';
import type { Folder, Run, Source } from '../../model/index.ts';
import { shown, type UnitSystem } from '../../units/index.ts';
import { ByteWriter } from '../bytes/byte-writer.ts';
import { Degrees } from '../bytes/degrees.ts';
import { cellEnds, RawRows } from '../bytes/raw-rows.ts';
import { DECIMALS } from './points.ts';

interface LogFile {
	source: Source;
	delimiter: number;
	columns: string[];
}

/** The columns that clean.csv adds to the log's own. The names of the yields give their unit and moisture basis. */
export function addedColumns(run: Run, units: UnitSystem): string[] {
	const unit = units === 'us' ? 'bu_ac' : 'kg_ha';
	const basis = `${unit}_at_${run.field.plan.crop.market_moisture_pct}_pct`;
	return ['ground_lon', 'ground_lat', `recorded_yield_${basis}`, `corrected_yield_${basis}`, 'yield_u_rel'];
}

/**
 * clean.csv: unflagged records only. First the log's own columns, unchanged; then the center of the ground where the
 * grain was cut (the log's own position is where the machine was when the grain passed the sensor), yield as recorded
 * and corrected, both at market moisture in the chosen units, and the relative standard uncertainty. Logs whose
 * columns differ from the first log's are put under one header, blank where a log lacks a column. A column `combine`
 * comes last if there are several logs and none has one.
 */
export async function* cleanCsv(run: Run, folder: Folder, units: UnitSystem): AsyncGenerator<Uint8Array> {
	const { plan, records } = run.field;
	const logs: LogFile[] = [];
	for (const { file } of plan.logs) {
		const source = folder.get(file);
		if (source === undefined) throw new Error(`${file} is no longer in the folder`);
		logs.push(await headOf(source));
	}
	const delimiter = String.fromCharCode(logs[0]?.delimiter ?? 44);
	const columns = [...new Set(logs.flatMap((log) => log.columns))];
	const addCombine = logs.length > 1 && !columns.includes('combine');
	const us = units === 'us';
	const factor = us ? shown('yield', 'us', plan.crop).factor : 1;
	const header = [...columns, ...addedColumns(run, units), ...(addCombine ? ['combine'] : [])];
	const degrees = new Degrees(run.track.zone);
	const writer = new ByteWriter();
	const number = (value: number, decimals: number) => {
		writer.text(delimiter);
		writer.fixed(value, decimals);
	};
	writer.text(
		`${numbered(header)
			.map((name) => csvCell(name, delimiter))
			.join(delimiter)}\n`,
	);
	let record = 0;
	for (const [index, log] of logs.entries()) {
		const places = log.columns.map((name) => columns.indexOf(name));
		const asIs = log.delimiter === delimiter.charCodeAt(0) && places.every((place, k) => place === k);
		const place = asIs
			? placeAsIs(log, columns.length, writer)
			: placeByName(log, places, columns.length, delimiter, writer);
		const rows = new RawRows((bytes, start, end, line) => {
			while (record < records.n && records.log[record] === index && records.line[record]! < line) record++;
			if (record >= records.n || records.log[record] !== index || records.line[record] !== line) return;
			const i = record++;
			if (run.yields.flag[i] !== 0) return;
			place(bytes, start, end);
			degrees.of(run.track.cutX_m[i]!, run.track.cutY_m[i]!);
			number(degrees.lon, DECIMALS.degrees);
			number(degrees.lat, DECIMALS.degrees);
			number(run.yields.monitor_kg_ha[i]! * factor, DECIMALS.yield);
			number(run.yields.corrected_kg_ha[i]! * factor, DECIMALS.yield);
			number(run.yields.u_rel[i]!, DECIMALS.u_rel);
			if (addCombine) writer.text(delimiter + csvCell(records.combines[records.combine[i]!] as string, delimiter));
			writer.code(10);
		});
		for await (const chunk of log.source.chunks()) {
			rows.push(chunk);
			if (writer.full) yield writer.drain();
		}
		rows.end();
		while (record < records.n && records.log[record] === index) record++;
	}
	yield writer.drain();
}

type PlaceRow = (bytes: Uint8Array, start: number, end: number) => void;

/** The row unchanged, except for cells that a spreadsheet might run, with blank cells added up to the header's width. */
function placeAsIs(log: LogFile, wanted: number, writer: ByteWriter): PlaceRow {
	const ends: number[] = [];
	const decoder = new TextDecoder();
	const delimiter = String.fromCharCode(log.delimiter);
	return (bytes, start, end) => {
		cellEnds(bytes, start, end, log.delimiter, ends);
		if (!harmless(bytes, start, ends)) {
			for (let k = 0; k < wanted; k++) {
				if (k > 0) writer.code(log.delimiter);
				if (k >= ends.length || k >= log.columns.length) continue;
				const raw = decoder.decode(bytes.subarray(k === 0 ? start : ends[k - 1]! + 1, ends[k]));
				writer.text(csvCell(unquoted(raw), delimiter));
			}
			return;
		}
		writer.raw(bytes.subarray(start, ends[log.columns.length - 1] ?? end));
		for (let k = Math.min(ends.length, log.columns.length); k < wanted; k++) writer.code(log.delimiter);
	};
}

/** Puts each cell under its own name; quotes cells where the common separator requires it. */
function placeByName(log: LogFile, places: number[], wanted: number, delimiter: string, writer: ByteWriter): PlaceRow {
	const ends: number[] = [];
	const decoder = new TextDecoder();
	const from = new Int32Array(wanted).fill(-1);
	places.forEach((place, k) => {
		from[place] = k;
	});
	return (bytes, start, end) => {
		cellEnds(bytes, start, end, log.delimiter, ends);
		for (let place = 0; place < wanted; place++) {
			if (place > 0) writer.text(delimiter);
			const k = from[place]!;
			if (k < 0 || k >= ends.length) continue;
			const cellStart = k === 0 ? start : ends[k - 1]! + 1;
			const text = decoder.decode(bytes.subarray(cellStart, ends[k]));
			writer.text(csvCell(unquoted(text), delimiter));
		}
	};
}

/** The names in a log's header, as they were read, and their separator. */
async function headOf(source: Source): Promise<LogFile> {
	let found: LogFile | null = null;
	const rows = new RawRows((bytes, start, end) => {
		if (found !== null) return;
		const line = bytes.subarray(start, end);
		if (!line.some((c) => c > 32)) return;
		const delimiter = separatorOf(line);
		const ends: number[] = [];
		cellEnds(bytes, start, end, delimiter, ends);
		const decoder = new TextDecoder();
		const columns = ends.map((e, k) => {
			const text = decoder.decode(bytes.subarray(k === 0 ? start : ends[k - 1]! + 1, e)).trim();
			return text.startsWith('"') ? text.slice(1, -1).replaceAll('""', '"').trim() : text;
		});
		found = { source, delimiter, columns: numbered(columns) };
	});
	for await (const chunk of source.chunks()) {
		rows.push(chunk);
		if (found !== null) break;
	}
	if (found === null) rows.end();
	return found ?? { source, delimiter: 44, columns: [] };
}

/** A repeated name keeps both its columns. */
function numbered(columns: string[]): string[] {
	const seen = new Map<string, number>();
	return columns.map((name) => {
		const n = (seen.get(name) ?? 0) + 1;
		seen.set(name, n);
		return n === 1 ? name : `${name} (${n})`;
	});
}
