/** A dBASE table (.dbf) straight into columns. */
import { fileFault, type Loaded, viewOf } from '../bytes.ts';
import { NOT_A_NUMBER, parseNumber } from '../digits.ts';
import type { RawColumn } from '../raw-table.ts';
import { decoderOf } from './codepage.ts';

export interface Attributes {
	/** Rows of the file, deleted ones included: as many as the shapes beside it. */
	n: number;
	columns: RawColumn[];
	/** 1 where a row is marked as deleted. */
	deleted: Uint8Array;
	notes: string[];
}

interface Field {
	name: string;
	type: string;
	at: number;
	length: number;
}

const NUMBERS = 'NFIBOY+@';

/** @throws InputFault if the bytes are not a dBASE table */
export function readDbf({ name, bytes }: Loaded, cpg: string | null): Attributes {
	const damaged = (found: string) =>
		fileFault(name, found, 'not a complete shapefile table (.dbf); copy or export it again');
	if (bytes.length < 33) throw damaged(`${bytes.length} bytes`);
	const view = viewOf(bytes);
	const stated = view.getUint32(4, true);
	const headLength = view.getUint16(8, true);
	const rowLength = view.getUint16(10, true);
	if (headLength < 33 || headLength > bytes.length || rowLength < 1) throw damaged('a broken header');
	const text = decoderOf(cpg, bytes[29]!);
	const fields: Field[] = [];
	let at = 1;
	for (let p = 32; p + 32 <= headLength && bytes[p] !== 13; p += 32) {
		let end = p;
		while (end < p + 11 && bytes[end] !== 0) end++;
		const type = String.fromCharCode(bytes[p + 11]!);
		// Text longer than 255 has its length's upper byte where numbers have their decimals.
		const length = bytes[p + 16]! + (type === 'C' ? bytes[p + 17]! * 256 : 0);
		fields.push({ name: text.decode(bytes.subarray(p, end)).trim(), type, at, length });
		at += length;
	}
	if (fields.length === 0 || at > rowLength) throw damaged('columns that do not fit its rows');
	const held = Math.floor((bytes.length - headLength) / rowLength);
	const n = Math.min(stated, held);
	const notes: string[] = [];
	if (held < stated) notes.push(`The table is cut off: ${n} of ${stated} rows read.`);
	if (text.unknown !== null)
		notes.push(`The encoding "${text.unknown}" is not known; letters with accents may be wrong.`);
	const deleted = new Uint8Array(n);
	for (let i = 0; i < n; i++) deleted[i] = bytes[headLength + i * rowLength] === 42 ? 1 : 0;
	const table = { bytes, head: headLength, row: rowLength, n };
	const columns = fields.map((f) => {
		if (f.type === 'M' || f.type === 'G' || f.type === 'P') {
			notes.push(`Column ${f.name} keeps its text in another file and is left out.`);
			return { name: f.name, text: new Array<string>(n).fill('') };
		}
		return NUMBERS.includes(f.type)
			? { name: f.name, numbers: numbersOf(table, f) }
			: { name: f.name, text: textOf(table, f, text.decode) };
	});
	return { n, columns, deleted, notes };
}

/** Rows of one length behind a head. */
interface Rows {
	bytes: Uint8Array;
	head: number;
	row: number;
	n: number;
}

function numbersOf({ bytes, head, row, n }: Rows, f: Field): Float64Array {
	const view = viewOf(bytes);
	const out = new Float64Array(n);
	for (let i = 0, at = head + f.at; i < n; i++, at += row) {
		if (f.type === 'N' || f.type === 'F') {
			const value = parseNumber(bytes, at, at + f.length, false);
			out[i] = value === NOT_A_NUMBER ? Number.NaN : value;
		} else if ((f.type === 'I' || f.type === '+') && f.length === 4) out[i] = view.getInt32(at, true);
		else if ((f.type === 'B' || f.type === 'O') && f.length === 8) out[i] = view.getFloat64(at, true);
		else if (f.type === 'Y' && f.length === 8) out[i] = Number(view.getBigInt64(at, true)) / 10_000;
		// Julian day number and milliseconds of the day, as seconds since 1970.
		else if (f.type === '@' && f.length === 8)
			out[i] = (view.getInt32(at, true) - 2_440_588) * 86_400 + view.getInt32(at + 4, true) / 1000;
		else out[i] = Number.NaN;
	}
	return out;
}

function textOf({ bytes, head, row, n }: Rows, f: Field, decode: (bytes: Uint8Array) => string): string[] {
	const out = new Array<string>(n);
	const date = f.type === 'D' && f.length === 8;
	let before = '';
	let beforeAt = -1;
	for (let i = 0, at = head + f.at; i < n; i++, at += row) {
		// Most rows repeat the value of the row before: they share one string.
		if (beforeAt < 0 || !same(bytes, beforeAt, at, f.length)) {
			let end = at + f.length;
			while (end > at && bytes[end - 1]! <= 32) end--;
			before = decode(bytes.subarray(at, end)).trim();
			if (date) before = /^\d{8}$/.test(before) ? `${before.slice(0, 4)}-${before.slice(4, 6)}-${before.slice(6)}` : '';
			beforeAt = at;
		}
		out[i] = before;
	}
	return out;
}

function same(bytes: Uint8Array, a: number, b: number, length: number): boolean {
	for (let i = 0; i < length; i++) if (bytes[a + i] !== bytes[b + i]) return false;
	return true;
}
