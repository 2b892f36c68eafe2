import papa from 'papaparse';
import { mode } from '../../stats/group.ts';

const DELIMITERS = [',', ';', '\t', '|'] as const;
/** Number of lines examined. */
const SAMPLE = 400;

/** Rows of a text in one dialect, with the line on which each starts. */
export interface Rows {
	cells: string[][];
	lines: number[];
	broken: boolean;
}

/** The delimiter with the most cells in rows of equal width and no other delimiter inside cells. */
export function delimiterOf(text: string): string {
	const said = /^sep=(.)\n/i.exec(text);
	if (said) return said[1]!;
	const sample = linesOf(text, SAMPLE);
	let best = ',';
	let most = 0;
	for (const delimiter of DELIMITERS) {
		const score = fitOf(parse(sample, delimiter).cells, delimiter);
		if (score > most) {
			best = delimiter;
			most = score;
		}
	}
	if (most > 0) return best;
	return fitOf(blankRows(sample).cells, ' ') > 0 ? ' ' : ',';
}

/** Splits a text into rows and cells; cells have no outer blanks. */
export function rowsOf(text: string, delimiter: string): Rows {
	const rows = delimiter === ' ' ? blankRows(text) : parse(text, delimiter);
	if (/^sep=.\n/i.test(text)) rows.cells[0] = [''];
	return rows;
}

/** The width that most rows have; the wider one in case of a tie. */
export function usualWidth(rows: readonly string[][]): number {
	return mode(rows.map((row) => row.length).sort((a, b) => b - a)) ?? 0;
}

/** Share of rows with the most common width, times how much wider than one column that is; 0: no table. */
function fitOf(cells: readonly string[][], delimiter: string): number {
	const full = cells.filter((row) => row.length > 1 || row[0] !== '');
	if (full.length < 2) return 0;
	// The head of a file may be anything; rows follow it.
	const body = full.slice(full.length >> 2);
	const width = usualWidth(body);
	if (width < 2) return 0;
	const others = DELIMITERS.filter((d) => d !== delimiter && d !== ',');
	let clean = 0;
	let all = 0;
	const whole = body.filter((row) => row.length === width);
	for (const row of whole) {
		for (const cell of row) {
			all++;
			if (!others.some((d) => cell.includes(d))) clean++;
		}
	}
	const share = whole.length / body.length;
	const cleanShare = clean / all;
	return share < 0.5 || cleanShare < 0.7 ? 0 : share ** 2 * cleanShare ** 2 * (1 + Math.log(width) / 10);
}

function parse(text: string, delimiter: string): Rows {
	const parsed = new papa.Parser({ delimiter, newline: '\n' }).parse(text, 0, false);
	const broken = parsed.errors.some((e: { code: string }) => e.code === 'MissingQuotes');
	const cells = broken ? text.split('\n').map((line) => line.split(delimiter)) : parsed.data;
	const lines: number[] = [];
	let line = 1;
	for (const row of cells) {
		lines.push(line);
		line++;
		for (let k = 0; k < row.length; k++) {
			const cell = row[k]!;
			if (cell.length > 0) {
				for (let at = cell.indexOf('\n'); at >= 0; at = cell.indexOf('\n', at + 1)) line++;
				row[k] = cell.trim();
			}
		}
	}
	return { cells, lines, broken };
}

/** Columns separated by blanks, as loggers and printers write them. */
function blankRows(text: string): Rows {
	const cells = text.split('\n').map((line) => line.trim().split(/\s+/));
	return { cells, lines: cells.map((_, i) => i + 1), broken: false };
}

function linesOf(text: string, count: number): string {
	let at = 0;
	for (let i = 0; i < count; i++) {
		const next = text.indexOf('\n', at);
		if (next < 0) return text;
		at = next + 1;
	}
	return text.slice(0, at);
}
