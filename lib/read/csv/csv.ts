import { joined } from '../../formats/bytes.ts';
import { separatorOf } from '../../formats/csv-cell.ts';
import type { FileFaults } from '../faults.ts';
import { type Cells, cellText, isBlank } from './cells.ts';
import { QuotedRows, type QuoteFault } from './quoted.ts';
import { emptyCells, type RowSink, scanRows } from './scan-rows.ts';

/** Header of a CSV file. */
export interface Head {
	/** Column names without outer blanks. */
	columns: string[];
	delimiter: string;
	/** With semicolons or tabs between cells, 3,5 is a number. */
	decimalComma: boolean;
}

/** Reads a file's rows as `readCsv` does, and reports what is wrong with it as a whole and with its quotes. */
export async function readRows(
	chunks: AsyncIterable<Uint8Array>,
	faults: FileFaults,
	begin: (head: Head) => RowSink | null,
): Promise<number> {
	const { rows, broken, quoteFaults } = await readCsv(chunks, begin);
	if (broken !== null) faults.whole(null, null, broken.found, broken.why);
	// A row, or the whole file where rows were swallowed.
	for (const { line, found, why, whole } of quoteFaults) {
		if (whole) faults.whole(line, null, found, why);
		else faults.row(line, null, found, why);
	}
	return rows;
}

export interface CsvEnd {
	bytes: number;
	/** Rows below the header, not counting blank lines. */
	rows: number;
	/** The file cannot be read as CSV: the reason, and what was found. */
	broken: { found: string; why: string } | null;
	quoteFaults: QuoteFault[];
}

const LF = 10;
const LONGEST_ROW = 1 << 20;
/** Number of bytes checked for signs of a binary file. */
const HEAD = 4096;

/**
 * Reads a CSV file from chunks of any length. `begin` gets the header and returns where rows go; null stops reading.
 * The separator is the comma, semicolon or tab that is most frequent in the header. Plain files take the byte reader;
 * from the first row with a quote on, PapaParse takes over.
 */
export async function readCsv(
	chunks: AsyncIterable<Uint8Array>,
	begin: (head: Head) => RowSink | null,
): Promise<CsvEnd> {
	const end: CsvEnd = { bytes: 0, rows: 0, broken: null, quoteFaults: [] };
	const cells = emptyCells();
	let pending: Uint8Array = new Uint8Array(0);
	let head: Head | null = null;
	let sink: RowSink | null = null;
	let quoted: QuotedRows | null = null;
	let stopped = false;

	const row = (c: Cells): void => {
		if (head !== null && sink !== null) {
			end.rows++;
			sink(c);
			return;
		}
		if (stopped || (c.count === 1 && isBlank(c, 0))) return;
		const delimiter = String.fromCharCode(separator);
		const columns = Array.from({ length: c.count }, (_, k) => cellText(c, k));
		head = { columns, delimiter, decimalComma: delimiter !== ',' };
		sink = begin(head);
		stopped = sink === null;
	};
	let separator = 0;

	const take = (bytes: Uint8Array): void => {
		if (quoted) {
			quoted.push(bytes);
			return;
		}
		const all = pending.length === 0 ? bytes : joined([pending, bytes]);
		let from = 0;
		if (separator === 0) {
			from = skipMark(all);
			const line = firstLine(all, from);
			if (line === null) {
				if (all.length > LONGEST_ROW) throw new Error('no line ends in the first megabyte');
				pending = all === bytes ? all.slice() : all;
				return;
			}
			separator = separatorOf(line);
		}
		const { rest, quoted: hasQuote } = scanRows(all, from, separator, cells, row);
		if (hasQuote) {
			quoted = new QuotedRows(String.fromCharCode(separator), cells.line, head?.columns.length ?? 0, row);
			quoted.push(all.subarray(rest));
			pending = new Uint8Array(0);
			return;
		}
		// The source may reuse the chunk: keep a copy.
		pending = all.slice(rest);
		if (pending.length > LONGEST_ROW) throw new Error('no line ends within a megabyte');
	};

	for await (const chunk of chunks) {
		end.broken ??= binarySign(chunk, end.bytes);
		end.bytes += chunk.length;
		if (end.broken !== null || stopped) continue;
		try {
			take(chunk);
		} catch (fault) {
			end.broken = { found: (fault as Error).message, why: 'expected a CSV file with one row per line' };
		}
	}
	if (end.broken !== null) return end;
	const last = quoted as QuotedRows | null;
	if (last) last.end();
	else if (pending.length > 0) {
		take(Uint8Array.of(LF));
		(quoted as QuotedRows | null)?.end();
	}
	end.quoteFaults = (quoted as QuotedRows | null)?.faults ?? [];
	if (end.bytes === 0) end.broken = { found: 'nothing', why: 'the file is empty' };
	else if (head === null) end.broken = { found: 'blank lines', why: 'the file is empty; expected a header line' };
	return end;
}

/** Skips the byte order mark; the scanner handles blank lines. */
function skipMark(bytes: Uint8Array): number {
	return bytes[0] === 0xef && bytes[1] === 0xbb && bytes[2] === 0xbf ? 3 : 0;
}

/** The first line that is not blank, or null where none has ended yet. */
function firstLine(bytes: Uint8Array, from: number): Uint8Array | null {
	let start = from;
	for (let p = from; p < bytes.length; p++) {
		if (bytes[p] !== LF) continue;
		const line = bytes.subarray(start, p);
		if (line.some((c) => c > 32)) return line;
		start = p + 1;
	}
	return null;
}

/** The sign of a binary file in the first bytes, or null for text. UTF-16 shows as zero bytes too. */
export function binarySign(bytes: Uint8Array, already = 0): { found: string; why: string } | null {
	const at = bytes.subarray(0, Math.max(0, HEAD - already)).indexOf(0);
	if (at < 0) return null;
	return {
		found: `a zero byte at ${already + at}`,
		why: 'the file is binary, or not UTF-8: expected plain UTF-8 text',
	};
}
