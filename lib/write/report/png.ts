import { zlibSync } from 'fflate';
import { joined } from '../../formats/bytes.ts';
import { crc32 } from '../../formats/crc.ts';
import type { Rgb } from '../../units/index.ts';

/**
 * A picture with a palette as a PNG file; index 0 is transparent, index k has the k-th color of `palette`.
 *
 * Source: PNG specification, 3rd edition (W3C): signature, IHDR, PLTE, tRNS, IDAT, IEND.
 *
 * @param index - one byte per pixel, row by row, from the northwest
 */
export function palettePng(index: Uint8Array, width: number, height: number, palette: readonly Rgb[]): Uint8Array {
	const header = new Uint8Array(13);
	const view = new DataView(header.buffer);
	view.setUint32(0, width);
	view.setUint32(4, height);
	header.set([8, 3, 0, 0, 0], 8);
	const colors = Uint8Array.from([[255, 255, 255], ...palette].flat());
	const lines = new Uint8Array((width + 1) * height);
	for (let row = 0; row < height; row++) {
		lines.set(index.subarray(row * width, (row + 1) * width), row * (width + 1) + 1);
	}
	return joined([
		Uint8Array.from([137, 80, 78, 71, 13, 10, 26, 10]),
		chunk('IHDR', header),
		chunk('PLTE', colors),
		chunk('tRNS', Uint8Array.from([0])),
		chunk('IDAT', zlibSync(lines, { level: 9 })),
		chunk('IEND', new Uint8Array(0)),
	]);
}

/** The file as a data URI. */
export function dataUri(png: Uint8Array): string {
	let text = '';
	for (let k = 0; k < png.length; k += 8192) text += String.fromCharCode(...png.subarray(k, k + 8192));
	return `data:image/png;base64,${btoa(text)}`;
}

function chunk(type: string, data: Uint8Array): Uint8Array {
	const bytes = new Uint8Array(12 + data.length);
	const view = new DataView(bytes.buffer);
	view.setUint32(0, data.length);
	for (let k = 0; k < 4; k++) bytes[4 + k] = type.charCodeAt(k);
	bytes.set(data, 8);
	view.setUint32(8 + data.length, crc32(bytes.subarray(4, 8 + data.length)));
	return bytes;
}
