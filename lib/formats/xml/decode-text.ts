/** The text of an XML or JSON file: encoding from its byte-order mark, else as declared in the file, else UTF-8. */
export function textOf(bytes: Uint8Array): string {
	const [a, b] = bytes;
	if (a === 0xff && b === 0xfe) return new TextDecoder('utf-16le').decode(bytes);
	if (a === 0xfe && b === 0xff) return new TextDecoder('utf-16be').decode(bytes);
	if (a === 0x3c && b === 0) return new TextDecoder('utf-16le').decode(bytes);
	const start = String.fromCharCode(...bytes.subarray(0, 200));
	const stated = /^(?:\u00ef\u00bb\u00bf)?\s*<\?xml[^>]*encoding=["']([A-Za-z0-9._-]+)["']/.exec(start)?.[1];
	try {
		return new TextDecoder(stated ?? 'utf-8', { fatal: true }).decode(bytes);
	} catch {
		return new TextDecoder('windows-1252').decode(bytes);
	}
}
