import { csvCell } from '../../formats/csv-cell.ts';
import type { Role } from '../../formats/index.ts';
import type { Output } from '../../model/index.ts';
import type { LoadRow, LoadTable } from '../loads/load-table.ts';
import { type CsvColumn, csvChunks, degreesCell, numberCell, timeCellOf } from './csv-text.ts';

export interface LoadPart {
	row: LoadRow;
	from: LoadTable;
}

/** Time with the precision of its list: a day, a minute, a second; blank if unknown. */
function when({ row, from }: LoadPart): string {
	const text = timeCellOf(row.time_s);
	if (text === '' || from.grain === 'second') return text;
	return from.grain === 'day' ? text.slice(0, 10) : text.replace(/:\d\d(\.\d+)?Z$/, 'Z');
}

/** Cells of a list's rows, by what a column holds. */
function columnsOf(parts: readonly LoadPart[]) {
	const column = (name: string, cell: (part: LoadPart, k: number) => string): CsvColumn => ({
		name,
		cell: (k) => cell(parts[k]!, k),
	});
	return {
		column,
		text: (role: Role) => column(role, ({ row }) => csvCell(row.text[role] ?? '')),
		number: (key: 'weight_kg' | 'moisture_pct' | 'test_weight_kg_hl', digits: number, name: string = key) =>
			column(name, ({ row }) => numberCell(row[key], digits)),
		time: column('time', when),
	};
}

/** A file of these columns; those without values are left out, unless they always stand. */
function fileOf(name: string, columns: readonly CsvColumn[], n: number, always: readonly string[]): Output {
	const rows = Array.from({ length: n }, (_, k) => k);
	const kept = columns.filter((c) => always.includes(c.name) || rows.some((k) => c.cell(k) !== ''));
	return { name, chunks: () => csvChunks(kept, rows) };
}

/** Whether any combine in the list has the name of a log. If none does, the list's names are unrelated to the logs'. */
export function namesFit(parts: readonly LoadPart[], combines: readonly string[]): boolean {
	const known = new Set(combines.map((c) => c.toLowerCase()));
	const noted = parts
		.flatMap((p) => (p.row.text.combine ?? '').split('+'))
		.map((n) => n.trim().toLowerCase())
		.filter((n) => n !== '');
	return noted.length === 0 || noted.some((n) => known.has(n));
}

/**
 * The cart's list under the contract's names.
 *
 * @param named - false if none of its combine names is a log's: the names then go into the note, and the combine of
 * each dump is found as if none had been noted
 */
export function cartFile(parts: readonly LoadPart[], named: boolean): Output {
	const ids = new Set(parts.map((p) => p.row.text.id ?? ''));
	const unique = ids.size === parts.length && !ids.has('');
	const { column, text, number, time } = columnsOf(parts);
	const numbered = (part: LoadPart, k: number) =>
		`${part.row.event === 'dump' ? 'D' : 'O'}${String(k + 1).padStart(2, '0')}`;
	const columns = [
		unique ? text('id') : column('id', numbered),
		time,
		column('event', ({ row }) => row.event),
		named ? text('combine') : column('combine', () => ''),
		number('weight_kg', 8),
		text('emptied'),
		text('truck_load'),
		text('scale'),
		text('field'),
		number('moisture_pct', 6),
		number('test_weight_kg_hl', 6),
		text('variety'),
		text('destination'),
		column('lat', ({ row }) => degreesCell(row.lat_deg)),
		column('lon', ({ row }) => degreesCell(row.lon_deg)),
		named
			? text('note')
			: column('note', ({ row }) => csvCell([row.text.combine, row.text.note].filter(Boolean).join('; '))),
	];
	return fileOf('cart.csv', columns, parts.length, ['id', 'time', 'event', 'combine', 'weight_kg']);
}

/** Tickets under the contract's names. */
export function ticketsFile(parts: readonly LoadPart[]): Output {
	const { column, text, number, time } = columnsOf(parts);
	const columns = [
		column('ticket', ({ row }, k) => csvCell(row.text.ticket || row.text.id || `T${k + 1}`)),
		time,
		text('truck_load'),
		number('weight_kg', 8, 'net_kg'),
		text('combine'),
		number('moisture_pct', 6),
		number('test_weight_kg_hl', 6),
		text('destination'),
		text('note'),
	];
	return fileOf('tickets.csv', columns, parts.length, ['ticket', 'time', 'truck_load', 'net_kg']);
}

/** The cart's weight over time. */
export function traceFile(parts: readonly LoadPart[]): Output {
	const { column, number } = columnsOf(parts);
	const columns = [column('time', ({ row }) => timeCellOf(row.time_s)), number('weight_kg', 8)];
	return fileOf('trace.csv', columns, parts.length, ['time', 'weight_kg']);
}
