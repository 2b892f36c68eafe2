import { csvCell } from '../../formats/csv-cell.ts';
import { lineOf } from '../../formats/index.ts';
import type { Output } from '../../model/index.ts';
import type { LogRows } from '../model.ts';
import { type CsvColumn, csvChunks, degreesCell, numberCell, timeCellOf } from './csv-text.ts';

/** Rows of one machine on one field, from one or several logs. */
export interface LogPart {
	log: LogRows;
	rows: Int32Array;
}

/** Columns of numbers of a log. */
type Numeric = { [K in keyof LogRows]: LogRows[K] extends Float64Array | Int8Array ? K : never }[keyof LogRows];

/** A log under the contract's names, in order of time. */
export function logFile(name: string, parts: readonly LogPart[]): Output {
	const from: number[] = [];
	const row: number[] = [];
	parts.forEach((part, p) => {
		for (const i of part.rows) {
			from.push(p);
			row.push(i);
		}
	});
	const time = from.map((p, k) => parts[p]!.log.time_s[row[k]!]!);
	const order = from.map((_, k) => k).sort((a, b) => time[a]! - time[b]! || a - b);
	const at = (key: Numeric, k: number) => parts[from[k]!]!.log[key][row[k]!]!;
	const some = (key: Numeric, has: (v: number) => boolean) => from.some((_, k) => has(at(key, k)));
	const columns: CsvColumn[] = [
		{ name: 'time', cell: (k) => timeCellOf(time[k]!) },
		{ name: 'lat', cell: (k) => degreesCell(at('lat_deg', k)) },
		{ name: 'lon', cell: (k) => degreesCell(at('lon_deg', k)) },
	];
	const numbers = (digits: number, ...keys: Numeric[]) => {
		for (const key of keys) columns.push({ name: key, cell: (k) => numberCell(at(key, k), digits) });
	};
	numbers(9, 'flow_kg_s');
	numbers(7, 'interval_s', 'distance_m', 'swath_m', 'moisture_pct');
	for (const [name, key] of [
		['header_down', 'header'],
		['auger_on', 'auger'],
	] as const)
		if (some(key, (v) => v >= 0)) columns.push({ name, cell: (k) => (at(key, k) < 0 ? '' : String(at(key, k))) });
	if (some('speed_m_s', Number.isFinite)) numbers(6, 'speed_m_s');
	if (some('heading_deg', Number.isFinite)) numbers(6, 'heading_deg');
	if (some('elevation_m', Number.isFinite)) numbers(8, 'elevation_m');
	for (const key of ['variety', 'load'] as const)
		if (parts.some((p) => p.log[key]))
			columns.push({ name: key, cell: (k) => csvCell(parts[from[k]!]!.log[key]?.[row[k]!] ?? '') });
	if (parts.length > 1) columns.push({ name: 'source', cell: (k) => csvCell(parts[from[k]!]!.log.table.file) });
	columns.push({ name: 'source_row', cell: (k) => String(lineOf(parts[from[k]!]!.log.table, row[k]!)) });
	return { name, chunks: () => csvChunks(columns, order) };
}
