import papa from 'papaparse';
import type { Cells } from './cells.ts';
import { emptyCells, type RowSink, widen } from './scan-rows.ts';

/** A longer row is not a row: a quote was opened and never closed. */
const LONGEST = 1 << 20;

/** An error in quotes and its line. */
export interface QuoteFault {
	line: number;
	/** Beginning of the cell. */
	found: string;
	why: string;
	/** Rows below it were swallowed: what was read is not what the file holds. */
	whole: boolean;
}

/**
 * Rows of a file with quotes, by PapaParse, on pieces of text of any length. Gives the same cells in the same form as
 * `scanRows` does for a file without quotes.
 */
export class QuotedRows {
	readonly faults: QuoteFault[] = [];
	private pending = '';
	private readonly decoder = new TextDecoder();
	private readonly encoder = new TextEncoder();
	private readonly parser: { parse(input: string, base: number, ignoreLastRow: boolean): Parsed };
	private readonly cells: Cells = emptyCells();
	private given = 0;

	constructor(
		private readonly delimiter: string,
		line: number,
		/** Cells of the header; 0 before it is known. */
		private wanted: number,
		private readonly sink: RowSink,
	) {
		this.parser = new papa.Parser({ delimiter, newline: '\n' });
		this.cells.line = line;
		this.cells.bytes = new Uint8Array(1 << 12);
	}

	/** Adds bytes; throws nothing. */
	push(bytes: Uint8Array): void {
		if (this.given < 0) return;
		this.pending += this.decoder.decode(bytes, { stream: true });
		// Parsing an open row again and again costs its length squared: wait for more.
		if (this.pending.length < this.given) return;
		const parsed = this.parser.parse(this.pending, 0, true);
		this.rows(parsed);
		this.pending = this.pending.slice(parsed.meta.cursor);
		this.given = this.pending.length * 2;
		if (this.pending.length > LONGEST) {
			this.never(this.pending);
			this.given = -1;
		}
	}

	end(): void {
		if (this.given < 0) return;
		this.pending += this.decoder.decode();
		if (this.pending !== '') this.rows(this.parser.parse(this.pending, 0, false));
		this.pending = '';
	}

	private rows(parsed: Parsed): void {
		const open = parsed.errors.find((e) => e.code === 'MissingQuotes')?.row ?? -1;
		const torn = new Set(parsed.errors.filter((e) => e.code === 'InvalidQuotes').map((e) => e.row));
		for (let r = 0; r < parsed.data.length; r++) {
			const row = parsed.data[r]!;
			const line = this.cells.line;
			let breaks = 1;
			for (const text of row) for (let p = -1; (p = text.indexOf('\n', p + 1)) >= 0; ) breaks++;
			if (r === open) this.never(row[row.length - 1]!);
			else if (breaks > 1 && this.swallows(row, torn.has(r))) this.swallowed(row, breaks - 1);
			else this.row(row);
			this.cells.line = line + breaks;
		}
	}

	/**
	 * A note of two lines is one cell. A stray quote extends to the next quote, with whole rows of the file inside:
	 * then the row's cells do not match the header, or a cell contains as many separators as a row.
	 */
	private swallows(row: readonly string[], torn: boolean): boolean {
		if (torn || (this.wanted > 0 && row.length !== this.wanted)) return true;
		let hidden = 0;
		for (const text of row) if (text.includes('\n')) hidden += text.split(this.delimiter).length - 1;
		return hidden >= Math.max(2, this.wanted - 1);
	}

	private swallowed(row: readonly string[], lines: number): void {
		const cell = row.find((text) => text.includes('\n'))!;
		const why = `a quote opens on this line and closes ${lines} ${lines === 1 ? 'line' : 'lines'} further on, with rows of their own in between: close it, or take it out`;
		this.faults.push({ line: this.cells.line, found: firstLine(cell), why, whole: true });
	}

	private never(cell: string): void {
		this.faults.push({
			line: this.cells.line,
			found: firstLine(cell),
			why: 'a quote is opened here and never closed',
			whole: cell.trimEnd().includes('\n'),
		});
	}

	private row(row: string[]): void {
		const { cells } = this;
		const last = row.length - 1;
		row[last] = row[last]!.replace(/\r$/, '');
		if (last === 0 && row[0] === '') return;
		if (this.wanted === 0) this.wanted = row.length;
		const longest = row.reduce((sum, text) => sum + text.length * 3, 0);
		if (cells.bytes.length < longest) cells.bytes = new Uint8Array(longest * 2);
		let p = 0;
		for (let k = 0; k <= last; k++) {
			if (k + 1 >= cells.starts.length) widen(cells);
			cells.starts[k] = p;
			p += this.encoder.encodeInto(row[k]!, cells.bytes.subarray(p)).written;
			cells.ends[k] = p;
		}
		cells.count = row.length;
		this.sink(cells);
	}
}

const firstLine = (cell: string) =>
	`"${cell.slice(0, cell.indexOf('\n') < 0 ? undefined : cell.indexOf('\n')).slice(0, 50)}`;

interface Parsed {
	data: string[][];
	errors: { code: string; row: number }[];
	meta: { cursor: number };
}
