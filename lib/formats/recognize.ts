/** Recognizes a file's format by its first bytes, and by its name only if the bytes leave it open. */
import { endingOf } from './bytes.ts';
import type { RawKind } from './raw-table.ts';
import { textOf } from './text/decode.ts';

/** Formats with a reader of their own; spreadsheets are found in their zip. */
export type Readable = Exclude<RawKind, 'spreadsheet'> | 'dbf';

/** A kind that can be opened, or why it cannot be and what would help. */
export type Recognized = { kind: Readable } | { kind: 'zip' } | { kind: null; why: string };

const AS = 'save it as .xlsx or CSV and open that';
const LOG = 'export the log from its program as a shapefile, CSV or ISO 11783 task data';

/** Formats without a reader, by their first bytes in hex. */
const OTHERS: [string, string][] = [
	['d0cf11e0', `this is a workbook or document of an old form; ${AS}`],
	['25504446', 'this is a PDF, which holds no table that can be read safely; ask for the CSV or Excel file behind it'],
	['52617221', 'this archive is packed in another way than zip; unpack it and open the files in it'],
	['377abcaf', 'this archive is packed in another way than zip; unpack it and open the files in it'],
	['1f8b', 'this file is packed as gzip; unpack it and open the file in it'],
	['89504e47', 'this is a picture; a backdrop is opened by dropping it alone'],
	['ffd8ff', 'this is a picture; a backdrop is opened by dropping it alone'],
	['47494638', 'this is a picture; a backdrop is opened by dropping it alone'],
	['49492a00', 'this is an image or grid; the log behind it is needed'],
	['4d4d002a', 'this is an image or grid; the log behind it is needed'],
	['50415231', 'this is a Parquet file; export it as CSV or GeoPackage'],
	['7f454c46', 'this is a program, not data'],
];

/** First bytes of the supported formats: zip (with and without files), shapefile, SQLite. */
const ZIP = ['504b0304', '504b0506'];
const SHAPEFILE = '0000270a';
const SQLITE = '53514c69746520666f726d6174203300';
/** First byte of a dBASE table: its version. */
const DBASE = new Set([0x02, 0x03, 0x30, 0x31, 0x32, 0x83, 0x8b, 0xf5]);

const HOUSEKEEPING = /(^|\/)(__MACOSX\/|\._|\.DS_Store$|Thumbs\.db$|desktop\.ini$|\.git\/)/i;

/** @param start - the file's first bytes, a few kilobytes */
export function recognize(name: string, start: Uint8Array): Recognized {
	if (HOUSEKEEPING.test(name)) return { kind: null, why: 'written by the operating system; it holds no data' };
	if (start.length === 0) return { kind: null, why: 'the file is empty' };
	const first = Array.from(start.subarray(0, 16), (b) => b.toString(16).padStart(2, '0')).join('');
	if (ZIP.some((z) => first.startsWith(z))) return { kind: 'zip' };
	if (first.startsWith(SHAPEFILE)) return { kind: 'shapefile' };
	if (first.startsWith(SQLITE)) return { kind: 'geopackage' };
	const other = OTHERS.find(([bytes]) => first.startsWith(bytes));
	if (other) return { kind: null, why: other[1] };
	const ending = endingOf(name);
	if (ending === 'dbf' && DBASE.has(start[0]!)) return { kind: 'dbf' };
	const text = textOf(start.subarray(0, start.length & ~1))
		.trimStart()
		.replace(/^\uFEFF/, '')
		.trimStart();
	if (text.startsWith('<')) return byRoot(text);
	if (/^[[{]/.test(text) && (ending.endsWith('json') || /^[[{]\s*("|[[{\]}])/.test(text))) return { kind: 'geojson' };
	if (ending === 'bin' && /(^|\/)TLG\d+\.bin$/i.test(name)) {
		return { kind: null, why: 'a time log of ISO 11783 task data; its TASKDATA.XML is needed with it' };
	}
	if (isText(start)) return { kind: 'text' };
	return { kind: null, why: `this is a binary file of a form that is not known here; ${LOG}` };
}

function byRoot(text: string): Recognized {
	const bare = text.replace(/<\?[\s\S]*?\?>|<!--[\s\S]*?-->|<!DOCTYPE[^>[]*(\[[^\]]*\])?[^>]*>/gi, '').trimStart();
	const root = /^<(?:[\w.-]+:)?([\w.-]+)/.exec(bare)?.[1] ?? '';
	switch (root) {
		case 'ISO11783_TaskData':
			return { kind: 'taskdata' };
		case 'kml':
			return { kind: 'kml' };
		case 'gpx':
			return { kind: 'gpx' };
		case 'TIM':
		case 'XFC':
		case 'ISO11783LinkList':
			return { kind: null, why: 'a part of ISO 11783 task data; its TASKDATA.XML is needed with it' };
		case 'html':
		case 'HTML':
			return { kind: null, why: `this is a web page, not a table; ${AS}` };
		default:
			return { kind: null, why: `this is XML of a kind that is not known here (<${root || '?'}>); ${LOG}` };
	}
}

/** Text of any encoding: hardly any control characters, or UTF-16 with every other byte zero. */
function isText(bytes: Uint8Array): boolean {
	if ((bytes[0] === 0xff && bytes[1] === 0xfe) || (bytes[0] === 0xfe && bytes[1] === 0xff)) return true;
	let control = 0;
	const zeros = [0, 0];
	bytes.forEach((b, i) => {
		if (b === 0) zeros[i & 1]!++;
		else if (b < 32 && b !== 9 && b !== 10 && b !== 13 && b !== 12 && b !== 26 && b !== 27) control++;
	});
	const [even, odd] = zeros as [number, number];
	const wide = Math.min(even, odd) <= bytes.length * 0.02 && Math.max(even, odd) > bytes.length * 0.3;
	return control <= bytes.length * 0.01 && (even + odd === 0 || wide);
}
