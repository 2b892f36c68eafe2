import { Pen } from './pen.ts';

/** A column of a dBASE III table: text, or numbers with fixed decimals. Names have ten ASCII letters at most. */
export type DbfColumn =
	| { name: string; text(row: number): string }
	| { name: string; decimals: number; number(row: number): number };

const LONGEST_TEXT = 254;
const encoder = new TextEncoder();

/** A dBASE III table (level 3, no memo). What is no number stays blank. The date in its head is `day`, UTC. */
export function dbfTable(rows: number, columns: readonly DbfColumn[], day: Date): Uint8Array {
	const widths = columns.map((column) => width(column, rows));
	const rowLength = 1 + widths.reduce((a, b) => a + b, 0);
	const headLength = 32 + 32 * columns.length + 1;
	const bytes = new Uint8Array(headLength + rowLength * rows + 1).fill(32, headLength);
	const view = new DataView(bytes.buffer);
	bytes[0] = 3;
	bytes.set([day.getUTCFullYear() - 1900, day.getUTCMonth() + 1, day.getUTCDate()], 1);
	view.setUint32(4, rows, true);
	view.setUint16(8, headLength, true);
	view.setUint16(10, rowLength, true);
	for (const [k, column] of columns.entries()) {
		const at = 32 + 32 * k;
		bytes.set(encoder.encode(column.name.slice(0, 10)), at);
		bytes[at + 11] = 'text' in column ? 67 : 78;
		bytes[at + 16] = widths[k] as number;
		bytes[at + 17] = 'text' in column ? 0 : column.decimals;
	}
	bytes[headLength - 1] = 13;
	const pen = new Pen();
	for (let row = 0; row < rows; row++) {
		let at = headLength + row * rowLength + 1;
		for (const [k, column] of columns.entries()) {
			const wide = widths[k] as number;
			const cell = cellBytes(pen, column, row);
			// Text stands on the left, numbers on the right.
			bytes.set(cell.subarray(0, wide), 'text' in column ? at : at + wide - Math.min(wide, cell.length));
			at += wide;
		}
	}
	bytes[bytes.length - 1] = 26;
	return bytes;
}

function cellBytes(pen: Pen, column: DbfColumn, row: number): Uint8Array {
	if ('text' in column) return cut(column.text(row));
	pen.fixed(column.number(row), column.decimals);
	return pen.drain();
}

/** UTF-8 of at most 254 bytes, never ending within a character. */
function cut(text: string): Uint8Array {
	const bytes = encoder.encode(text);
	let end = Math.min(bytes.length, LONGEST_TEXT);
	while (end < bytes.length && end > 0 && ((bytes[end] as number) & 0xc0) === 0x80) end--;
	return bytes.subarray(0, end);
}

function width(column: DbfColumn, rows: number): number {
	const pen = new Pen();
	let widest = 1;
	const seen = new Map<string, number>();
	for (let row = 0; row < rows; row++) {
		if ('text' in column) {
			const text = column.text(row);
			let length = seen.get(text);
			if (length === undefined) seen.set(text, (length = cut(text).length));
			widest = Math.max(widest, length);
		} else {
			pen.fixed(column.number(row), column.decimals);
			widest = Math.max(widest, pen.drain().length);
		}
	}
	return widest;
}
