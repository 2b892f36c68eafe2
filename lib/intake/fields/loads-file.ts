import type { Role } from '../../formats/index.ts';
import type { Output } from '../../model/index.ts';
import type { LoadRow, LoadTable } from '../loads/model.ts';
import { type CsvColumn, csvChunks, degreesCell, numberCell, textCell, timeCellOf } from './text.ts';

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

const text = (parts: readonly LoadPart[], name: string, role: Role): CsvColumn => ({
	name,
	cell: (k) => textCell(parts[k]?.row.text[role] ?? ''),
});
const number = (
	parts: readonly LoadPart[],
	name: string,
	key: 'weight_kg' | 'moisture_pct' | 'test_weight_kg_hl',
	digits: number,
): CsvColumn => ({
	name,
	cell: (k) => numberCell(parts[k]?.row[key] ?? Number.NaN, digits),
});

/** Leaves out optional columns without values. */
function filled(columns: readonly CsvColumn[], n: number, always: readonly string[]): CsvColumn[] {
	return columns.filter(
		(c) => always.includes(c.name) || Array.from({ length: n }, (_, k) => c.cell(k)).some((v) => v !== ''),
	);
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
	const columns: CsvColumn[] = [
		{
			name: 'id',
			cell: (k) =>
				unique
					? textCell(parts[k]?.row.text.id ?? '')
					: `${parts[k]?.row.event === 'dump' ? 'D' : 'O'}${String(k + 1).padStart(2, '0')}`,
		},
		{ name: 'time', cell: (k) => when(parts[k] as LoadPart) },
		{ name: 'event', cell: (k) => parts[k]?.row.event ?? '' },
		named ? text(parts, 'combine', 'combine') : { name: 'combine', cell: () => '' },
		number(parts, 'weight_kg', 'weight_kg', 8),
		text(parts, 'emptied', 'emptied'),
		text(parts, 'truck_load', 'truck_load'),
		text(parts, 'scale', 'scale'),
		text(parts, 'field', 'field'),
		number(parts, 'moisture_pct', 'moisture_pct', 6),
		number(parts, 'test_weight_kg_hl', 'test_weight_kg_hl', 6),
		text(parts, 'variety', 'variety'),
		text(parts, 'destination', 'destination'),
		{ name: 'lat', cell: (k) => degreesCell(parts[k]?.row.lat_deg ?? Number.NaN) },
		{ name: 'lon', cell: (k) => degreesCell(parts[k]?.row.lon_deg ?? Number.NaN) },
		named
			? text(parts, 'note', 'note')
			: {
					name: 'note',
					cell: (k) => textCell([parts[k]?.row.text.combine, parts[k]?.row.text.note].filter(Boolean).join('; ')),
				},
	];
	const rows = parts.map((_, k) => k);
	const kept = filled(columns, parts.length, ['id', 'time', 'event', 'combine', 'weight_kg']);
	return { name: 'cart.csv', chunks: () => csvChunks(kept, rows) };
}

/** Tickets under the contract's names. */
export function ticketsFile(parts: readonly LoadPart[]): Output {
	const columns: CsvColumn[] = [
		{ name: 'ticket', cell: (k) => textCell(parts[k]?.row.text.ticket || parts[k]?.row.text.id || `T${k + 1}`) },
		{ name: 'time', cell: (k) => when(parts[k] as LoadPart) },
		text(parts, 'truck_load', 'truck_load'),
		{ ...number(parts, 'net_kg', 'weight_kg', 8) },
		text(parts, 'combine', 'combine'),
		number(parts, 'moisture_pct', 'moisture_pct', 6),
		number(parts, 'test_weight_kg_hl', 'test_weight_kg_hl', 6),
		text(parts, 'destination', 'destination'),
		text(parts, 'note', 'note'),
	];
	const kept = filled(columns, parts.length, ['ticket', 'time', 'truck_load', 'net_kg']);
	return {
		name: 'tickets.csv',
		chunks: () =>
			csvChunks(
				kept,
				parts.map((_, k) => k),
			),
	};
}

/** The cart's weight over time. */
export function traceFile(parts: readonly LoadPart[]): Output {
	const columns: CsvColumn[] = [
		{ name: 'time', cell: (k) => timeCellOf(parts[k]?.row.time_s ?? Number.NaN) },
		number(parts, 'weight_kg', 'weight_kg', 8),
	];
	return {
		name: 'trace.csv',
		chunks: () =>
			csvChunks(
				columns,
				parts.map((_, k) => k),
			),
	};
}
