import { open } from 'node:fs/promises';

/** Bytes read at a time. */
const CHUNK = 1 << 20;

/** A file's bytes; each chunk is valid until the next one is asked for. */
export async function* chunksOf(path: string): AsyncGenerator<Uint8Array> {
	const file = await open(path);
	try {
		// One room for all chunks: fresh memory for each would take longer than reading it.
		const room = new Uint8Array(CHUNK);
		for (;;) {
			const { bytesRead } = await file.read(room, 0, CHUNK);
			if (bytesRead === 0) return;
			yield room.subarray(0, bytesRead);
		}
	} finally {
		await file.close();
	}
}
