import { strFromU8, strToU8, unzlibSync, zlibSync } from 'fflate';
import { crc32 } from '../../formats/crc.ts';
import { bookOf } from '../book.ts';
import type { Entry } from '../entries/entry.ts';
import { readBackup, writeBackup } from './backup.ts';

/**
 * A few entries as a series of QR codes. Each code's text is `SY1 series number/of data`, its data base 32 in
 * capitals, so that the code uses its compact alphanumeric mode (ISO/IEC 18004) and reads from a dusty screen.
 */
const HEAD = 'SY1';
const ALPHABET = 'ABCDEFGHIJKLMNOPQRSTUVWXYZ234567';

/** Texts of the codes. `size` is the most characters of data in one. */
export function toCodes(entries: readonly Entry[], size = 320): string[] {
	const data = base32(zlibSync(strToU8(writeBackup(bookOf(entries))), { level: 9 }));
	const parts = Math.max(1, Math.ceil(data.length / size));
	const series = checksum(data);
	return Array.from(
		{ length: parts },
		(_, i) => `${HEAD} ${series} ${i + 1}/${parts} ${data.slice(i * size, (i + 1) * size)}`,
	);
}

/** What has been read of a series so far. */
export interface Codes {
	series: string;
	of: number;
	parts: ReadonlyMap<number, string>;
}

/** Adds one code's text; null = not a Steelyard code. A code of another series starts over. */
export function takeCode(before: Codes | null, text: string): Codes | null {
	const m = /^SY1 ([0-9A-F]{8}) ([0-9]+)\/([0-9]+) ([A-Z2-7]*)$/.exec(text);
	if (!m) return null;
	const [series, number, of] = [m[1]!, Number(m[2]), Number(m[3])];
	if (number < 1 || number > of) return null;
	const same = before !== null && before.series === series && before.of === of;
	return { series, of, parts: new Map([...(same ? before.parts : []), [number, m[4]!]]) };
}

/** The entries of a complete series; null while parts are missing. Throws where the data are damaged. */
export function fromCodes(codes: Codes): readonly Entry[] | null {
	if (codes.parts.size < codes.of) return null;
	const data = Array.from({ length: codes.of }, (_, i) => codes.parts.get(i + 1) ?? '').join('');
	if (checksum(data) !== codes.series) throw new Error('The codes do not belong together. Scan them again.');
	return readBackup(strFromU8(unzlibSync(unbase32(data)))).entries;
}

function base32(bytes: Uint8Array): string {
	let out = '';
	let held = 0;
	let bits = 0;
	for (const b of bytes) {
		held = ((held << 8) | b) & 0xffff;
		bits += 8;
		while (bits >= 5) {
			bits -= 5;
			out += ALPHABET[(held >> bits) & 31];
		}
	}
	return bits > 0 ? out + ALPHABET[(held << (5 - bits)) & 31] : out;
}

function unbase32(text: string): Uint8Array {
	const out: number[] = [];
	let held = 0;
	let bits = 0;
	for (const c of text) {
		held = ((held << 5) | ALPHABET.indexOf(c)) & 0xffff;
		bits += 5;
		if (bits >= 8) {
			bits -= 8;
			out.push((held >> bits) & 255);
		}
	}
	return Uint8Array.from(out);
}

/** CRC-32 of a text's bytes, eight hex digits. */
function checksum(text: string): string {
	const bytes = new TextEncoder().encode(text);
	return crc32(bytes).toString(16).toUpperCase().padStart(8, '0');
}
