import jsQR from 'jsqr';
import QRCode from 'qrcode';
import { describe, expect, it } from 'vitest';
import { bookOf, type Codes, fromCodes, mergeBooks, takeCode, toCodes } from '../../lib/book/index.ts';
import { dump, ground, truckLoad, Writer } from './build.ts';

function fewLoads() {
	const w = ground(new Writer());
	for (let i = 0; i < 6; i++)
		dump(w, i % 2 ? 'A' : 'B', 6000 + i, 6100, { note: i === 3 ? 'nass – äöü, "late"' : null });
	truckLoad(w, '1', 30_000, 30_400);
	return w.book;
}

function read(texts: string[]): Codes | null {
	return texts.reduce<Codes | null>((c, t) => takeCode(c, t) ?? c, null);
}

/** Draws a code as a camera would see it and reads it. */
function seen(text: string): string | undefined {
	const { modules } = QRCode.create(text, { errorCorrectionLevel: 'M' });
	const [scale, border] = [3, 4];
	const size = (modules.size + 2 * border) * scale;
	const pixels = new Uint8ClampedArray(size * size * 4).fill(255);
	for (let y = 0; y < size; y++)
		for (let x = 0; x < size; x++) {
			const [cx, cy] = [Math.floor(x / scale) - border, Math.floor(y / scale) - border];
			if (cx < 0 || cy < 0 || cx >= modules.size || cy >= modules.size || !modules.get(cy, cx)) continue;
			pixels.fill(0, (y * size + x) * 4, (y * size + x) * 4 + 3);
		}
	return jsQR(pixels, size, size)?.data;
}

describe('a few loads as codes', () => {
	it('come over whole, in any order, with repeats, through a camera', () => {
		const book = fewLoads();
		const texts = toCodes(book.entries);
		expect(texts.length).toBeGreaterThan(1);
		const shown = [...texts]
			.reverse()
			.concat(texts)
			.map((t) => seen(t)!);
		expect(shown.every((t) => texts.includes(t))).toBe(true);
		const codes = read(shown)!;
		expect(bookOf(fromCodes(codes)!)).toEqual(book);
		expect(mergeBooks(book, bookOf(fromCodes(codes)!))).toEqual(book);
	});

	it('are not there yet while one is missing', () => {
		expect(fromCodes(read(toCodes(fewLoads().entries).slice(1))!)).toBeNull();
	});

	it('begin anew with another series, ignore what is none of ours, and notice damage', () => {
		const one = toCodes(fewLoads().entries);
		const two = toCodes(fewLoads().entries.slice(0, 3));
		const codes = read([one[0]!, 'https://example.org', ...two])!;
		expect(fromCodes(codes)).toHaveLength(3);
		const bad = two[0]!.replace(/ ([A-Z2-7])([A-Z2-7]*)$/, (_, a, rest) => ` ${a === 'A' ? 'B' : 'A'}${rest}`);
		expect(() => fromCodes(read([bad, ...two.slice(1)])!)).toThrow(/do not belong together/);
	});
});
