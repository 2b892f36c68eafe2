import { ByteWriter } from '../bytes/byte-writer.ts';

/** A column of a dBASE III table. Names have at most ten ASCII characters, cells at most 254 bytes. */
export interface DbfColumn {
	name: string;
	/** Decimals of a column of numbers; null for text. */
	decimals: number | null;
	width: number;
	/** Writes the cell of a row, at most `width` bytes; writes nothing for a missing value. */
	write(writer: ByteWriter, row: number): void;
}

const LONGEST_TEXT = 254;
const encoder = new TextEncoder();

/** A column of numbers, as wide as the widest of them. */
export function numberColumn(name: string, decimals: number, rows: number, value: (row: number) => number): DbfColumn {
	let least = 0;
	let most = 0;
	for (let row = 0; row < rows; row++) {
		const v = value(row);
		if (v < least) least = v;
		if (v > most) most = v;
	}
	const writer = new ByteWriter();
	const width = Math.max(...[least, most].map((v) => lengthOf(writer, v, decimals)));
	return { name, decimals, width, write: (to, row) => to.fixed(value(row), decimals) };
}

function lengthOf(writer: ByteWriter, value: number, decimals: number): number {
	writer.fixed(value, decimals);
	return writer.drain().length;
}

/** A column of names from a list; −1 is blank. */
export function nameColumn(name: string, names: readonly string[], index: (row: number) => number): DbfColumn {
	const texts = names.map(cut);
	const width = texts.reduce((most, text) => Math.max(most, text.length), 1);
	const write = (writer: ByteWriter, row: number) => {
		const text = texts[index(row)];
		if (text !== undefined) writer.raw(text);
	};
	return { name, decimals: null, width, write };
}

/** UTF-8 of at most 254 bytes, never cut within a character. */
function cut(text: string): Uint8Array {
	const bytes = encoder.encode(text);
	let end = Math.min(bytes.length, LONGEST_TEXT);
	while (end < bytes.length && end > 0 && (bytes[end]! & 0xc0) === 0x80) end--;
	return bytes.subarray(0, end);
}

/** A dBASE III table (level 3, no memo). Missing numbers stay blank. The date in its header is `day`, UTC. */
export function dbfTable(rows: number, columns: readonly DbfColumn[], day: Date): Uint8Array<ArrayBuffer> {
	const rowLength = 1 + columns.reduce((sum, column) => sum + column.width, 0);
	const headLength = 32 + 32 * columns.length + 1;
	const bytes = new Uint8Array(headLength + rowLength * rows + 1).fill(32, headLength);
	const view = new DataView(bytes.buffer);
	bytes[0] = 3;
	bytes.set([day.getUTCFullYear() - 1900, day.getUTCMonth() + 1, day.getUTCDate()], 1);
	view.setUint32(4, rows, true);
	view.setUint16(8, headLength, true);
	view.setUint16(10, rowLength, true);
	for (const [k, { name, decimals, width }] of columns.entries()) {
		const at = 32 + 32 * k;
		bytes.set(encoder.encode(name.slice(0, 10)), at);
		bytes[at + 11] = decimals === null ? 67 : 78;
		bytes[at + 16] = width;
		bytes[at + 17] = decimals ?? 0;
	}
	bytes[headLength - 1] = 13;
	const writer = new ByteWriter();
	let at = headLength;
	for (let row = 0; row < rows; row++) {
		at++;
		for (const { decimals, width, write } of columns) {
			write(writer, row);
			// Text is aligned left, numbers right.
			writer.drainInto(bytes, decimals === null ? at : at + width - writer.length);
			at += width;
		}
	}
	bytes[bytes.length - 1] = 26;
	return bytes;
}
