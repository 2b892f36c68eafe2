import type { Cells } from './cells.ts';

const LF = 10;
const CR = 13;
const QUOTE = 34;

/** Receives one row; the cells are valid only until it returns. */
export type RowSink = (cells: Cells) => void;

/** An empty row to be reused. */
export function emptyCells(): Cells {
	return { bytes: new Uint8Array(0), starts: new Int32Array(64), ends: new Int32Array(64), count: 0, line: 1 };
}

/** Makes room for more cells per row. */
export function widen(cells: Cells): void {
	const wider = (a: Int32Array) => {
		const b = new Int32Array(a.length * 2);
		b.set(a);
		return b;
	};
	cells.starts = wider(cells.starts);
	cells.ends = wider(cells.ends);
}

/**
 * Splits bytes without quotes into rows and cells, from `from` on, and passes each complete row to `sink`.
 * `cells.line` continues; blank lines are counted and skipped. Returns the start of the first row not passed on:
 * incomplete, or with a quote in it (`quoted`).
 */
export function scanRows(
	bytes: Uint8Array,
	from: number,
	delimiter: number,
	cells: Cells,
	sink: RowSink,
): { rest: number; quoted: boolean } {
	cells.bytes = bytes;
	let { starts, ends } = cells;
	let row = from;
	let k = 0;
	starts[0] = from;
	const length = bytes.length;
	for (let p = from; p < length; p++) {
		const c = bytes[p]!;
		if (c !== delimiter && c !== LF && c !== QUOTE) continue;
		if (c === QUOTE) return { rest: row, quoted: true };
		ends[k++] = p;
		if (k === starts.length) {
			widen(cells);
			({ starts, ends } = cells);
		}
		if (c === LF) {
			rowEnds(cells, k, row, p, sink);
			row = p + 1;
			k = 0;
		}
		starts[k] = p + 1;
	}
	return { rest: row, quoted: false };
}

function rowEnds(cells: Cells, count: number, row: number, end: number, sink: RowSink): void {
	cells.count = count;
	let last = end;
	if (last > row && cells.bytes[last - 1] === CR) last--;
	cells.ends[count - 1] = last;
	if (last > row) sink(cells);
	cells.line++;
}
