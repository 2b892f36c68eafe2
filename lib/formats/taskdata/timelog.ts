/** A time log of ISO 11783-10: its header (TLGnnnnn.XML) and its records (TLGnnnnn.BIN) straight into columns. */
import { fileFault, type Loaded, viewOf } from '../bytes.ts';
import { childrenOf, readTree } from '../xml/scan-xml.ts';
import { NO_VALUE } from './entries.ts';

/** One entry of a log: a quantity of a device element. Values are raw counts, NaN if a record has none. */
export interface Logged {
	entry: number;
	element: string;
	values: Float64Array;
}

export interface TimeLog {
	n: number;
	/** Seconds since 1 January 1970, on the clock of the machine's controller (local time). */
	time_s: Float64Array;
	/** The same by the receiver, UTC; null if it is not logged. */
	utc_s: Float64Array | null;
	/** Degrees of WGS 84 and meters; null if not logged. */
	lat_deg: Float64Array | null;
	lon_deg: Float64Array | null;
	elevation_m: Float64Array | null;
	/** Receiver status: 0 no fix, 1 autonomous, 2 differential, 4 RTK fixed, 5 RTK float, 14 error, 15 no value. */
	fix: Float64Array | null;
	logged: Logged[];
	notes: string[];
}

/** Days from 1 January 1970 to 1 January 1980, where the standard's dates begin. */
const EPOCH_DAYS = 3652;
const DAY_S = 86_400;

/** Position parts in the order of the record: attribute, bytes, size of one count, how it is read. */
const PARTS = [
	['A', 4, 1e7, 'getInt32'],
	['B', 4, 1e7, 'getInt32'],
	['C', 4, 1000, 'getInt32'],
	['D', 1, 1, 'getUint8'],
	['E', 2, 10, 'getUint16'],
	['F', 2, 10, 'getUint16'],
	['G', 1, 1, 'getUint8'],
	['H', 4, 1000, 'getUint32'],
	['I', 2, 1, 'getUint16'],
] as const;

type Part = (typeof PARTS)[number][0];

interface Header {
	/** The start time, or null if every record has its own. */
	start_s: number | null;
	/** Parts of a position that the log has: a constant, or null if every record has its own. */
	parts: ReadonlyMap<Part, number | null>;
	entries: { entry: number; element: string }[];
}

/** @throws InputFault if the header is not that of a time log */
export function readTimeLog(header: Loaded, log: Loaded): TimeLog {
	return readRecords(headerOf(header), log);
}

function headerOf(file: Loaded): Header {
	const { root } = readTree(file.name, file.bytes);
	const tim = root.name === 'TIM' ? root : root.children.find((c) => c.name === 'TIM');
	if (!tim)
		throw fileFault(file.name, `<${root.name}>`, 'expected the header of a time log, <TIM>; export the tasks again');
	const [ptn] = childrenOf(tim, 'PTN');
	const parts = new Map<Part, number | null>();
	for (const [part] of PARTS) {
		const stated = ptn?.attributes[part];
		if (stated !== undefined) parts.set(part, constantOf(stated));
	}
	const start = tim.attributes.A ?? '';
	return {
		start_s: start === '' ? null : Date.parse(`${start.replace(/(Z|[-+]\d\d:?\d\d)$/, '')}Z`) / 1000,
		parts,
		entries: childrenOf(tim, 'DLV').map((dlv) => ({
			entry: Number.parseInt(dlv.attributes.A ?? '', 16),
			element: dlv.attributes.C ?? '',
		})),
	};
}

const constantOf = (stated: string): number | null => (stated.trim() === '' ? null : Number(stated));

function readRecords(header: Header, { name, bytes }: Loaded): TimeLog {
	const view = viewOf(bytes);
	const inRecord = PARTS.filter(([part]) => header.parts.get(part) === null);
	const head = (header.start_s === null ? 6 : 0) + inRecord.reduce((sum, [, size]) => sum + size, 0) + 1;
	// First the count, so that every column is allocated once at its final size.
	const { n, notes } = countRecords(name, bytes, head, header.entries.length);

	const empty = () => new Float64Array(n).fill(Number.NaN);
	const time_s = empty();
	const position = new Map<Part, Float64Array>();
	for (const [part, constant] of header.parts) position.set(part, constant === null ? empty() : empty().fill(constant));
	const logged: Logged[] = header.entries.map((e) => ({ entry: e.entry, element: e.element, values: empty() }));
	let at = 0;
	for (let i = 0; i < n; i++) {
		if (header.start_s === null) {
			time_s[i] = (view.getUint16(at + 4, true) + EPOCH_DAYS) * DAY_S + view.getUint32(at, true) / 1000;
			at += 6;
		} else time_s[i] = header.start_s;
		for (const [part, size, scale, read] of inRecord) {
			position.get(part)![i] = view[read](at, true) / scale;
			at += size;
		}
		const values = bytes[at]!;
		at++;
		for (let k = 0; k < values; k++, at += 5) {
			const value = view.getInt32(at + 1, true);
			logged[bytes[at]!]!.values[i] = value === NO_VALUE ? Number.NaN : value;
		}
	}
	const [lat_deg, lon_deg] = [position.get('A') ?? null, position.get('B') ?? null];
	if (lat_deg && lon_deg) blankWithoutFix(lat_deg, lon_deg);
	return {
		n,
		time_s,
		utc_s: utcOf(position.get('H'), position.get('I')),
		lat_deg,
		lon_deg,
		elevation_m: position.get('C') ?? null,
		fix: position.get('D') ?? null,
		logged,
		notes,
	};
}

/** Whole records up to the end or the first damage; `head` is the bytes of one before its values. */
function countRecords(name: string, bytes: Uint8Array, head: number, entries: number): { n: number; notes: string[] } {
	let n = 0;
	let at = 0;
	while (at + head <= bytes.length) {
		const next = at + head + bytes[at + head - 1]! * 5;
		if (next > bytes.length) break;
		for (let p = at + head; p < next; p += 5) {
			if (bytes[p]! < entries) continue;
			const wrong = `record ${n + 1} names value ${bytes[p]}, and the header lists ${entries}`;
			return { n, notes: [`${name} is damaged: ${wrong}. ${n} records before it are read.`] };
		}
		n++;
		at = next;
	}
	return { n, notes: at < bytes.length ? [`${name} is cut off in its last record: ${n} records read.`] : [] };
}

/** The standard's "no position" is the largest or smallest number; receivers without a fix give 0/0. */
function blankWithoutFix(lat_deg: Float64Array, lon_deg: Float64Array): void {
	for (let i = 0; i < lat_deg.length; i++) {
		const none = Math.abs(lat_deg[i]!) > 90 || Math.abs(lon_deg[i]!) > 180 || (lat_deg[i] === 0 && lon_deg[i] === 0);
		if (none) lat_deg[i] = lon_deg[i] = Number.NaN;
	}
}

function utcOf(timeOfDay_s: Float64Array | undefined, day: Float64Array | undefined): Float64Array | null {
	if (!timeOfDay_s || !day) return null;
	const utc = timeOfDay_s.map((s, i) =>
		day[i]! > 0 && day[i]! < 0xffff && s < DAY_S + 1 ? (day[i]! + EPOCH_DAYS) * DAY_S + s : Number.NaN,
	);
	return utc.filter(Number.isFinite).length > utc.length / 2 ? utc : null;
}

/** A value holds until the next one is logged: controllers log many entries only when they change. */
export function held(values: Float64Array): Float64Array {
	const out = values.slice();
	for (let i = 1; i < out.length; i++) if (Number.isNaN(out[i]!)) out[i] = out[i - 1]!;
	return out;
}
