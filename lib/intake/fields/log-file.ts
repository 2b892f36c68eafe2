import type { Output } from '../../model/index.ts';
import type { LogRows } from '../model.ts';
import { type CsvColumn, csvChunks, degreesCell, numberCell, textCell, timeCellOf } from './text.ts';

/** Rows of one machine on one field, from one or several logs. */
export interface LogPart {
	log: LogRows;
	rows: Int32Array;
}

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
	const time = from.map((p, k) => parts[p]!.log.time_s[row[k]!] as number);
	const order = from.map((_, k) => k).sort((a, b) => time[a]! - time[b]! || a - b);
	const at = <K extends keyof LogRows>(key: K, k: number) =>
		(parts[from[k]!]!.log[key] as ArrayLike<number>)[row[k]!] as number;
	const numbers = (column: string, key: keyof LogRows, digits: number): CsvColumn => ({
		name: column,
		cell: (k) => numberCell(at(key, k), digits),
	});
	const texts = (column: string, key: 'variety' | 'load'): CsvColumn => ({
		name: column,
		cell: (k) => textCell(parts[from[k]!]!.log[key]?.[row[k]!] ?? ''),
	});
	const states = (column: string, key: 'header' | 'auger'): CsvColumn => ({
		name: column,
		cell: (k) => (at(key, k) < 0 ? '' : String(at(key, k))),
	});
	const columns: CsvColumn[] = [
		{ name: 'time', cell: (k) => timeCellOf(time[k]!) },
		{ name: 'lat', cell: (k) => degreesCell(at('lat_deg', k)) },
		{ name: 'lon', cell: (k) => degreesCell(at('lon_deg', k)) },
		numbers('flow_kg_s', 'flow_kg_s', 9),
		numbers('interval_s', 'interval_s', 7),
		numbers('distance_m', 'distance_m', 7),
		numbers('swath_m', 'swath_m', 7),
		numbers('moisture_pct', 'moisture_pct', 7),
	];
	const some = (key: keyof LogRows, has: (v: number) => boolean) => from.some((_, k) => has(at(key, k)));
	if (some('header', (v) => v >= 0)) columns.push(states('header_down', 'header'));
	if (some('auger', (v) => v >= 0)) columns.push(states('auger_on', 'auger'));
	if (some('speed_m_s', Number.isFinite)) columns.push(numbers('speed_m_s', 'speed_m_s', 6));
	if (some('heading_deg', Number.isFinite)) columns.push(numbers('heading_deg', 'heading_deg', 6));
	if (some('elevation_m', Number.isFinite)) columns.push(numbers('elevation_m', 'elevation_m', 8));
	if (parts.some((p) => p.log.variety)) columns.push(texts('variety', 'variety'));
	if (parts.some((p) => p.log.load)) columns.push(texts('load', 'load'));
	if (parts.length > 1) columns.push({ name: 'source', cell: (k) => textCell(parts[from[k]!]!.log.table.file) });
	columns.push({
		name: 'source_row',
		cell: (k) => {
			const lines = parts[from[k]!]!.log.table.lines;
			return String(lines?.[row[k]!] ?? row[k]! + 2);
		},
	});
	return { name, chunks: () => csvChunks(columns, order) };
}
