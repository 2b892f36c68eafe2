/**
 * Bytes to text: a byte order mark decides; then zero bytes in every other place mean UTF-16; then valid UTF-8 is
 * UTF-8, and the rest Windows-1252. Null for bytes that are not text.
 */
export function decodeText(bytes: Uint8Array): string | null {
	const text = new TextDecoder(encodingOf(bytes)).decode(bytes);
	// A few zero bytes at the end are a logger's padding; more mean that it is not text.
	const clean = text.replace(/\0+\s*$/, '');
	return clean.slice(0, 1 << 16).includes('\0') ? null : clean;
}

function encodingOf(b: Uint8Array): string {
	if (b[0] === 0xef && b[1] === 0xbb && b[2] === 0xbf) return 'utf-8';
	if (b[0] === 0xff && b[1] === 0xfe) return 'utf-16le';
	if (b[0] === 0xfe && b[1] === 0xff) return 'utf-16be';
	const head = b.subarray(0, 4096);
	let even = 0;
	let odd = 0;
	for (let i = 0; i < head.length; i++) if (head[i] === 0) i % 2 === 0 ? even++ : odd++;
	if (odd > head.length / 4 && even < odd / 8) return 'utf-16le';
	if (even > head.length / 4 && odd < even / 8) return 'utf-16be';
	try {
		new TextDecoder('utf-8', { fatal: true }).decode(b);
		return 'utf-8';
	} catch {
		return 'windows-1252';
	}
}

/** The text of an XML or JSON file: in the encoding that it declares, else as any text. */
export function textOf(bytes: Uint8Array): string {
	const start = String.fromCharCode(...bytes.subarray(0, 200));
	const stated = /^(?:\u00ef\u00bb\u00bf)?\s*<\?xml[^>]*encoding=["']([A-Za-z0-9._-]+)["']/.exec(start)?.[1];
	try {
		return new TextDecoder(stated ?? encodingOf(bytes), { fatal: stated !== undefined }).decode(bytes);
	} catch {
		return new TextDecoder('windows-1252').decode(bytes);
	}
}
