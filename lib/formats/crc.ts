const TABLE = new Uint32Array(256).map((_, n) => {
	let c = n;
	for (let k = 0; k < 8; k++) c = c & 1 ? 0xedb88320 ^ (c >>> 1) : c >>> 1;
	return c;
});

/** CRC-32 of ISO 3309, as zips and PNG state it; `before` is that of the bytes before these. */
export function crc32(bytes: Uint8Array, before = 0): number {
	let crc = ~before;
	for (let i = 0; i < bytes.length; i++) crc = TABLE[(crc ^ bytes[i]!) & 0xff]! ^ (crc >>> 8);
	return ~crc >>> 0;
}
