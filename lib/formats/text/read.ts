import { fileFault } from '../bytes.ts';
import type { RawColumn, RawMeta, RawTable } from '../raw-table.ts';
import { decodeText } from './decode.ts';
import { delimiterOf, rowsOf } from './dialect.ts';
import { findHead, type TableHead } from './head.ts';
import { isMissing, type NumberForm, numberForm, numberIn } from './number.ts';

/** A row that begins like this is not a record. */
const TOTAL =
	/^(grand )?(totals?|sum|sums|sub-?total|average|avg|mean|count|min|max|gesamt|summe|somme|moyenne|totale?s?|promedio|suma)\b/i;
/** A column is numeric if this share of its cells are numbers; the rest are reported as odd. */
const NUMBERS = 0.8;

/** Rows with too many cells that are listed one by one. */
const LISTED = 20;

/**
 * Reads delimited text of any dialect as one table. `bytes` is the whole file. Dates and times stay text.
 *
 * @throws InputFault if it has no table
 */
export function readText(file: string, bytes: Uint8Array): RawTable {
	if (bytes.length === 0) throw fileFault(file, 'nothing', 'the file is empty');
	const decoded = decodeText(bytes);
	if (decoded === null) throw fileFault(file, 'zero bytes', 'the file is binary and of no format that is known here');
	const text = decoded.replace(/\r\n?/g, '\n');
	const delimiter = delimiterOf(text);
	const { cells, lines, broken } = rowsOf(text, delimiter);
	const form = numberForm(sampleCells(cells), delimiter);
	const head = findHead(cells, form);
	if (head === null)
		throw fileFault(file, text.trim().slice(0, 60), 'no table is found here: rows of two or more columns are expected');
	const notes: string[] = [];
	if (broken) notes.push('a quotation mark is never closed: quotation marks are read as text');
	const keep = dataRows(cells, lines, head, notes);
	const columns = head.names.map((name, c) => {
		const column = columnOf(
			name,
			keep.map((r) => cells[r]![c] ?? ''),
			form,
		);
		if (head.units[c]) column.unit ??= head.units[c];
		return column;
	});
	const wide = keep.filter((r) => cells[r]!.slice(head.names.length).some((cell) => cell !== ''));
	for (const r of wide.slice(0, LISTED)) {
		notes.push(`row ${lines[r]} holds ${cells[r]!.length} cells where the header has ${head.names.length}`);
	}
	if (wide.length > LISTED) notes.push(`and ${wide.length - LISTED} more rows with more cells than the header`);
	const table: RawTable = {
		file,
		kind: 'text',
		n: keep.length,
		columns: columns.filter((c) => !(c.name.startsWith('column ') && isBlankColumn(c))),
		lines: Int32Array.from(keep, (r) => lines[r]!),
		meta: metaOf(cells.slice(0, Math.max(0, head.row)), delimiter),
		notes,
	};
	const crs = /EPSG\s*[:#]?\s*(\d{4,6})/i.exec(cells.slice(0, head.first).flat().join(' '))?.[1];
	if (crs !== undefined) table.crs = Number(crs);
	return table;
}

/** Rows below the header that are records; the rest is noted. */
function dataRows(cells: readonly string[][], lines: readonly number[], head: TableHead, notes: string[]) {
	const keep: number[] = [];
	let repeats = 0;
	const header = head.row < 0 ? null : cells[head.row]!.join('\t');
	for (let r = head.first; r < cells.length; r++) {
		const row = cells[r]!;
		if (row.every((cell) => cell === '')) continue;
		if (header !== null && row.join('\t') === header) {
			repeats++;
			continue;
		}
		const held = row.find((cell) => cell !== '')!;
		if (TOTAL.test(held)) {
			notes.push(`row ${lines[r]} ("${held}") holds totals, no record`);
			continue;
		}
		// A remark below the table: one cell where there should be many.
		if (row.length === 1 && head.width > 2) {
			notes.push(`row ${lines[r]} is no record: "${held.slice(0, 60)}"`);
			continue;
		}
		keep.push(r);
	}
	if (repeats > 0) notes.push(`the header is repeated ${repeats} ${repeats === 1 ? 'time' : 'times'} among the rows`);
	return keep;
}

const SUFFIXED = /^([+-]?[\d.,'\u00a0 ]*\d)\s*([a-z%°][a-z%°/²2]*)$/i;

/** A numeric column if nearly all cells are numbers, with their units removed; otherwise the cells unchanged. */
function columnOf(name: string, cells: string[], form: NumberForm): RawColumn {
	const numbers = new Float64Array(cells.length);
	const odd: { row: number; found: string }[] = [];
	let held = 0;
	for (let i = 0; i < cells.length; i++) {
		const cell = cells[i]!;
		const value = numberIn(cell, form);
		numbers[i] = value ?? Number.NaN;
		if (value === undefined) odd.push({ row: i, found: cell });
		if (value === undefined || !Number.isNaN(value)) held++;
	}
	if (held > 0 && odd.length <= (1 - NUMBERS) * held) {
		return odd.length === 0 ? { name, numbers } : { name, numbers, odd };
	}
	const suffixed = suffixedColumn(name, cells, form, held);
	return suffixed ?? { name, text: cells };
}

function suffixedColumn(name: string, cells: string[], form: NumberForm, held: number): RawColumn | null {
	const numbers = new Float64Array(cells.length).fill(Number.NaN);
	let unit: string | null = null;
	let good = 0;
	for (let i = 0; i < cells.length; i++) {
		const found = SUFFIXED.exec(cells[i]!);
		if (found === null) continue;
		const value = numberIn(found[1]!, form);
		if (value === undefined || (unit !== null && unit !== found[2])) return null;
		unit = found[2]!;
		numbers[i] = value;
		good++;
	}
	if (unit === null || /^(am|pm|[tz])$/i.test(unit) || good < 0.95 * held) return null;
	return { name, numbers, unit };
}

function isBlankColumn(column: RawColumn): boolean {
	return column.text ? column.text.every(isMissing) : column.numbers!.every(Number.isNaN);
}

function* sampleCells(cells: readonly string[][]): Iterable<string> {
	const step = Math.max(1, Math.floor(cells.length / 2000));
	for (let r = 0; r < cells.length; r += step) for (const cell of cells[r]!) if (cell.length < 30) yield cell;
}

const META: readonly [RegExp, keyof RawMeta][] = [
	[/^(field|feld|schlag|parcelle|campo)( name)?$/i, 'field'],
	[/^(crop|product|commodity|frucht|culture|cultivo)( type| name)?$/i, 'crop'],
	[/^(client|grower|customer|kunde)( name)?$/i, 'client'],
	[/^(farm|betrieb)( name)?$/i, 'farm'],
	[/^(combine|machine|vehicle|device|maschine)( name| id)?$/i, 'device'],
	[/^(season|year|jahr)$/i, 'season'],
	[/^(time ?zone|zeitzone|tz)$/i, 'timeZone'],
];

/** Facts in lines above the header, as "Field: North" or "Field;North". */
function metaOf(rows: readonly string[][], delimiter: string): RawMeta {
	const meta: RawMeta = {};
	for (const row of rows) {
		const held = row.filter((cell) => cell !== '');
		const line = held.join(delimiter === ' ' ? ' ' : '\t');
		const found = /^#*\s*([^:=\t]+?)\s*[:=\t]+\s*(.+)$/.exec(line);
		if (found === null) continue;
		const key = META.find(([pattern]) => pattern.test(found[1]!.trim()))?.[1];
		const value = found[2]!.split('\t')[0]?.trim();
		if (key !== undefined && value) meta[key] = value as never;
	}
	return meta;
}
