import { SPACE } from '../../formats/digits.ts';

/** One row of a CSV file as positions in a buffer. The object is reused for the next row: copy what you keep. */
export interface Cells {
	bytes: Uint8Array;
	/** Start of each cell in `bytes`. */
	starts: Int32Array;
	/** End of each cell, exclusive. */
	ends: Int32Array;
	count: number;
	/** The file's line on which the row starts, the first being 1. */
	line: number;
}

const decoder = new TextDecoder();

/** A cell as text without outer blanks; '' for a blank cell or one that the row does not have. */
export function cellText(cells: Cells, column: number): string {
	if (column < 0 || column >= cells.count) return '';
	const s = cells.starts[column]!;
	const e = cells.ends[column]!;
	return s === e ? '' : decoder.decode(cells.bytes.subarray(s, e)).trim();
}

/** True for a cell with nothing but blanks. */
export function isBlank(cells: Cells, column: number): boolean {
	for (let p = cells.starts[column]!; p < cells.ends[column]!; p++) {
		if (cells.bytes[p]! > SPACE) return false;
	}
	return true;
}

/** Spreadsheets leave rows of only separators at the end of a table. */
export function allBlank(cells: Cells): boolean {
	for (let k = 0; k < cells.count; k++) if (!isBlank(cells, k)) return false;
	return true;
}
