/**
 * Reads tables of an SQLite file, format 3 (sqlite.org/fileformat2.html): b-tree pages, records, overflow. No indexes,
 * no queries, no writing.
 */
import { fileFault, type Loaded, viewOf } from '../bytes.ts';

export type Value = number | string | Uint8Array | null;

export interface Stored {
	/** Page where the table's b-tree begins. */
	page: number;
	columns: string[];
	/** Column that is the row's number, −1 if none is. */
	rowidColumn: number;
}

const DEEPEST = 24;

export class Database {
	private readonly view: DataView;
	private readonly pageSize: number;
	private readonly usable: number;
	private readonly decoder: TextDecoder;
	readonly tables: ReadonlyMap<string, Stored>;

	/** @throws InputFault if the bytes are not an SQLite file, or it is damaged */
	constructor(private readonly file: Loaded) {
		const { bytes } = file;
		this.view = viewOf(bytes);
		const magic = String.fromCharCode(...bytes.subarray(0, 15));
		if (bytes.length < 512 || magic !== 'SQLite format 3') throw this.damaged('its beginning is not as expected');
		const size = this.view.getUint16(16);
		this.pageSize = size === 1 ? 65_536 : size;
		this.usable = this.pageSize - bytes[20]!;
		if (this.pageSize < 512 || (this.pageSize & (this.pageSize - 1)) !== 0 || this.usable < 480)
			throw this.damaged(`pages of ${size} bytes`);
		this.decoder = new TextDecoder(['utf-8', 'utf-8', 'utf-16le', 'utf-16be'][this.view.getUint32(56)] ?? 'utf-8');
		const tables = new Map<string, Stored>();
		for (const [type, name, , page, sql] of this.rowsAt(1)) {
			if (type !== 'table' || typeof name !== 'string' || typeof page !== 'number' || typeof sql !== 'string') continue;
			tables.set(name, { page, ...columnsOf(sql) });
		}
		this.tables = tables;
	}

	/** Rows of a table by column name, in the order of their numbers. */
	*rows(name: string): Generator<Record<string, Value>> {
		const table = this.tables.get(name);
		if (!table) return;
		for (const values of this.rowsAt(table.page, table.rowidColumn)) {
			const row: Record<string, Value> = Object.create(null);
			table.columns.forEach((c, i) => {
				row[c] = values[i] ?? null;
			});
			yield row;
		}
	}

	/** Values of every row of the b-tree that begins at a page. */
	*rowsAt(root: number, rowidColumn = -1): Generator<Value[]> {
		// A damaged file may contain a cycle: no page is visited twice.
		const met = new Set<number>();
		yield* this.walk(root, rowidColumn, met, 0);
	}

	private *walk(page: number, rowidColumn: number, met: Set<number>, depth: number): Generator<Value[]> {
		const start = (page - 1) * this.pageSize;
		if (page < 1 || start + this.pageSize > this.file.bytes.length) throw this.damaged(`page ${page} is missing`);
		if (met.has(page) || depth > DEEPEST) throw this.damaged('its pages lead in a circle');
		met.add(page);
		const head = page === 1 ? start + 100 : start;
		const kind = this.file.bytes[head]!;
		const cells = this.view.getUint16(head + 3);
		if (kind !== 5 && kind !== 13) throw this.damaged(`page ${page} is not part of a table`);
		const pointers = head + (kind === 5 ? 12 : 8);
		if (pointers + cells * 2 > start + this.pageSize) throw this.damaged(`page ${page} lists ${cells} rows`);
		for (let i = 0; i < cells; i++) {
			const at = start + this.view.getUint16(pointers + i * 2);
			if (at + 4 > start + this.pageSize) throw this.damaged(`page ${page} points outside itself`);
			if (kind === 5) yield* this.walk(this.view.getUint32(at), rowidColumn, met, depth + 1);
			else yield this.record(at, start + this.usable, rowidColumn);
		}
		if (kind === 5) yield* this.walk(this.view.getUint32(head + 8), rowidColumn, met, depth + 1);
	}

	private record(at: number, pageEnd: number, rowidColumn: number): Value[] {
		const [size, afterSize] = this.varint(at);
		const [rowid, from] = this.varint(afterSize);
		const payload = this.payload(size, from, pageEnd);
		const inside = new Reader(payload);
		const [headLength, first] = inside.varint(0);
		const values: Value[] = [];
		let [p, body] = [first, headLength];
		while (p < headLength) {
			const [type, next] = inside.varint(p);
			p = next;
			const length = inside.lengthOf(type);
			if (body + length > payload.length) throw this.damaged('a row is cut off');
			values.push(inside.value(type, body, length, this.decoder));
			body += length;
		}
		if (rowidColumn >= 0 && values[rowidColumn] === null) values[rowidColumn] = rowid;
		return values;
	}

	/** A record's bytes; a long record continues on pages of its own. */
	private payload(size: number, from: number, pageEnd: number): Uint8Array {
		const { bytes } = this.file;
		const most = this.usable - 35;
		if (size <= most) {
			if (from + size > pageEnd) throw this.damaged('a row is cut off');
			return bytes.subarray(from, from + size);
		}
		if (size > bytes.length) throw this.damaged(`a row of ${size} bytes`);
		const least = Math.floor(((this.usable - 12) * 32) / 255) - 23;
		const fitting = least + ((size - least) % (this.usable - 4));
		const local = fitting <= most ? fitting : least;
		const out = new Uint8Array(size);
		out.set(bytes.subarray(from, from + local));
		let done = local;
		let page = this.view.getUint32(from + local);
		while (done < size) {
			const start = (page - 1) * this.pageSize;
			if (page < 1 || start + this.pageSize > bytes.length) throw this.damaged(`page ${page} is missing`);
			const part = bytes.subarray(start + 4, start + 4 + Math.min(this.usable - 4, size - done));
			out.set(part, done);
			done += part.length;
			page = this.view.getUint32(start);
		}
		return out;
	}

	private varint(at: number): [number, number] {
		return new Reader(this.file.bytes).varint(at);
	}

	private damaged(found: string) {
		return fileFault(this.file.name, found, 'the database is cut off or damaged; copy or export it again');
	}
}

class Reader {
	private readonly view: DataView;
	constructor(private readonly bytes: Uint8Array) {
		this.view = viewOf(bytes);
	}

	/** A number of one to nine bytes, and where the next begins. Exact up to 2^53; no file here needs more. */
	varint(at: number): [number, number] {
		let value = 0;
		for (let i = 0; i < 8; i++) {
			const byte = this.bytes[at + i] ?? 0;
			value = value * 128 + (byte & 0x7f);
			if (byte < 128) return [value, at + i + 1];
		}
		return [value * 256 + (this.bytes[at + 8] ?? 0), at + 9];
	}

	lengthOf(type: number): number {
		if (type >= 12) return Math.floor((type - 12) / 2);
		return [0, 1, 2, 3, 4, 6, 8, 8, 0, 0, 0, 0][type]!;
	}

	value(type: number, at: number, length: number, decoder: TextDecoder): Value {
		if (type === 0 || type === 10 || type === 11) return null;
		if (type === 7) return this.view.getFloat64(at);
		if (type === 8 || type === 9) return type - 8;
		if (type >= 12) {
			const bytes = this.bytes.subarray(at, at + length);
			return type % 2 === 0 ? bytes : decoder.decode(bytes);
		}
		let value = this.view.getInt8(at);
		for (let i = 1; i < length; i++) value = value * 256 + this.bytes[at + i]!;
		return value;
	}
}

/** Names of a table's columns from the statement that created it, and which of them is the row's number. */
export function columnsOf(sql: string): { columns: string[]; rowidColumn: number } {
	const parts = partsOf(sql.slice(sql.indexOf('(') + 1, sql.lastIndexOf(')')));
	const columns: string[] = [];
	let rowidColumn = -1;
	for (const part of parts) {
		if (/^(constraint|primary|unique|check|foreign)\b/i.test(part)) continue;
		const quoted = /^(?:"((?:[^"]|"")*)"|`([^`]*)`|\[([^\]]*)\]|'([^']*)')/.exec(part);
		const name = quoted
			? (quoted[1]?.replaceAll('""', '"') ?? quoted[2] ?? quoted[3] ?? quoted[4]!)
			: part.split(/\s/)[0]!;
		const rest = part.slice(quoted ? quoted[0].length : name.length);
		if (/^\s*integer\b.*\bprimary\s+key\b/is.test(rest)) rowidColumn = columns.length;
		columns.push(name);
	}
	return { columns, rowidColumn };
}

/** Splits at commas outside brackets and quotes. */
function partsOf(text: string): string[] {
	const parts: string[] = [];
	let depth = 0;
	let quote = '';
	let part = '';
	for (const c of text) {
		if (quote !== '') {
			if (c === quote) quote = '';
		} else if (c === '"' || c === "'" || c === '`') quote = c;
		else if (c === '[') quote = ']';
		else if (c === '(') depth++;
		else if (c === ')') depth--;
		if (c === ',' && depth === 0 && quote === '') {
			parts.push(part.trim());
			part = '';
		} else part += c;
	}
	return [...parts, part.trim()].filter((p) => p !== '');
}
