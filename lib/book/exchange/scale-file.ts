import { fileFault } from '../../formats/bytes.ts';
import { delimiterOf, rowsOf } from '../../formats/text/dialect.ts';
import { numberIn } from '../../formats/text/number.ts';
import { dayOf, timeCell } from '../../formats/text/time-cell.ts';
import type { SetAside } from '../../model/index.ts';
import { POUND_KG } from '../../units/index.ts';
import { canonical } from '../entries/entry.ts';

/** What a column of a scale head's list can be. */
export const MAPPED = [
	'date',
	/** Time of day if it has its own column. */
	'clock',
	'weight',
	'combine',
	'truck',
	'field',
	'number',
	'event',
	'moisture',
	'note',
] as const;
/** One of `MAPPED`. */
export type Mapped = (typeof MAPPED)[number];

/**
 * The list of loads that a scale head saves, as CSV of any dialect: comma, semicolon, tab or bar; point or comma in
 * numbers; with or without a header; any order of day and month. The user identifies the columns once; the choice is
 * remembered. Column numbers count from 0; null = not there.
 */
export interface ScaleMapping extends Record<Mapped, number | null> {
	/** How a day is written. */
	order: 'ymd' | 'mdy' | 'dmy';
	unit: 'kg' | 'lb' | 't';
	decimal: '.' | ',';
	/** Rows above the first load. */
	skip: number;
	/** Words in `event` that mean grain went out of the cart. */
	outWords: readonly string[];
	/** A negative weight is grain going out. */
	signed: boolean;
}

/** The file as cells, and its dialect. */
export interface ScaleTable {
	rows: string[][];
	/** The file's line of each row, the first being 1. */
	lines: number[];
	delimiter: string;
	/** Signature that distinguishes this layout from others: the first row and the number of columns. */
	signature: string;
}

/** One load of the file. */
export interface ScaleLoad {
	line: number;
	time_s: number;
	weight_kg: number;
	out: boolean;
	combine: string;
	truck: string;
	field: string;
	number: string;
	moisture_pct: number | null;
	note: string;
	/** The same load read again has the same name, so reading a file twice adds nothing. */
	key: string;
}

/** Splits the text into cells. Throws `InputFault` where it is not a table. */
export function readScaleTable(text: string, file = 'scale file'): ScaleTable {
	const plain = text.replace(/^\uFEFF/, '');
	if (plain.trim() === '') throw fileFault(file, '', 'the file is empty');
	if (plain.includes('\u0000')) throw fileFault(file, '', 'this is not text: save the list as CSV');
	const body = plain.replace(/\r\n?/g, '\n');
	const delimiter = delimiterOf(body);
	const read = rowsOf(body, delimiter);
	const held = read.cells.map((_, i) => i).filter((i) => read.cells[i]!.some((c) => c !== ''));
	const rows = held.map((i) => read.cells[i]!);
	const lines = held.map((i) => read.lines[i]!);
	const width = Math.max(...rows.map((r) => r.length));
	if (width < 2)
		throw fileFault(
			file,
			rows[0]?.[0]?.slice(0, 60) ?? '',
			'no columns found: expected commas, semicolons, tabs or bars between them',
		);
	const head = headerRow(rows);
	return { rows, lines, delimiter, signature: canonical(head === null ? ['', width] : rows[head]!) };
}

/** The row with column names: the first one that is as wide as the rest and has no number. Null where there is none. */
export function headerRow(rows: readonly string[][]): number | null {
	const width = Math.max(...rows.map((r) => r.length));
	for (let i = 0; i < Math.min(rows.length, 15); i++) {
		const r = rows[i]!;
		const filled = r.filter((c) => c !== '');
		if (filled.length < Math.max(2, width - 2)) continue;
		return filled.every((c) => !/^[-+]?[\d.,]+$/.test(c) && !/\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}/.test(c)) ? i : null;
	}
	return null;
}

/**
 * The loads of a table by its mapping. Rows that cannot be read are set aside with the reason; none is dropped.
 *
 * @param toUtc - seconds UTC of a local wall-clock time in the field's zone
 */
export function readScaleLoads(
	table: ScaleTable,
	m: ScaleMapping,
	toUtc: (time: WallTime) => number,
	file = 'scale file',
): { loads: ScaleLoad[]; setAside: SetAside[] } {
	const loads: ScaleLoad[] = [];
	const setAside: SetAside[] = [];
	if (m.weight === null) throw fileFault(file, '', 'say which column holds the weight');
	const seen = new Map<string, number>();
	for (const [i, row] of table.rows.entries()) {
		if (i < m.skip) continue;
		const line = table.lines[i]!;
		const cell = (c: number | null) => (c === null ? '' : (row[c] ?? ''));
		const aside = (column: Mapped, found: string, why: string) => {
			setAside.push({ file, row: line, column, found: found.slice(0, 60), why });
		};
		const weight = numberOf(cell(m.weight), m.decimal);
		if (weight === null || weight === 0) {
			aside('weight', cell(m.weight), weight === 0 ? 'a weight of 0' : 'expected a number');
			continue;
		}
		const stamp = `${cell(m.date)} ${cell(m.clock)}`.trim();
		const time = m.date === null && m.clock === null ? null : timeOf(stamp, m.order);
		if (time === null) {
			aside('date', stamp, `expected a date and time, such as ${WRITTEN[m.order]} 14:05`);
			continue;
		}
		const moistureText = cell(m.moisture);
		const moisture = moistureText === '' ? null : numberOf(moistureText, m.decimal);
		if (moistureText !== '' && (moisture === null || moisture <= 0 || moisture >= 60))
			aside('moisture', moistureText, 'not a possible grain moisture; the load is read without it');
		const event = cell(m.event).toLowerCase();
		const out = (m.signed && weight < 0) || m.outWords.some((w) => event !== '' && event.includes(w.toLowerCase()));
		const unit_kg = m.unit === 'kg' ? 1 : m.unit === 't' ? 1000 : POUND_KG;
		const base = canonical([time, weight, cell(m.number), cell(m.combine), event]);
		const repeat = (seen.get(base) ?? 0) + 1;
		seen.set(base, repeat);
		loads.push({
			line,
			time_s: toUtc(time),
			weight_kg: Math.abs(weight) * unit_kg,
			out,
			combine: cell(m.combine),
			truck: cell(m.truck),
			field: cell(m.field),
			number: cell(m.number),
			moisture_pct: moisture !== null && moisture > 0 && moisture < 60 ? moisture : null,
			note: cell(m.note),
			key: repeat > 1 ? `${base}#${repeat}` : base,
		});
	}
	return { loads, setAside };
}

const WRITTEN = { ymd: '2026-10-07', mdy: '10/07/2026', dmy: '07/10/2026' };

function numberOf(text: string, decimal: '.' | ','): number | null {
	const value = numberIn(bare(text), { decimal }) ?? Number.NaN;
	return Number.isNaN(value) ? null : value;
}

/** A cell's number without a unit behind it. */
export const bare = (text: string): string => text.replace(/\s*(lbs?|kg|t|%)\.?$/i, '');

/** A wall clock's year, month (1 to 12), day, hour, minute and second. */
export type WallTime = readonly [y: number, mo: number, d: number, h: number, mi: number, s: number];

function timeOf(text: string, order: ScaleMapping['order']): WallTime | null {
	const cell = timeCell(order === 'ymd' ? text.replace(/^\d\d(?=[-/.])/, '20$&') : text);
	if (cell === null || !(cell.year >= 1990 && cell.year < 2100)) return null;
	const written = order === 'dmy' ? 'day first' : 'month first';
	const day = new Date(1000 * dayOf(cell, cell.fixed ? (cell.order ?? written) : written));
	const s = Math.floor(cell.clock_s || 0);
	if (Number.isNaN(day.getTime()) || s >= 86_400) return null;
	const [hour, minute] = [Math.floor(s / 3600), Math.floor(s / 60) % 60];
	return [day.getUTCFullYear(), day.getUTCMonth() + 1, day.getUTCDate(), hour, minute, s % 60];
}
