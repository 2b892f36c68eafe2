import { open } from 'node:fs/promises';
import { InputFault } from '../../index.ts';

/** Bytes read at a time. */
const CHUNK = 1 << 20;

/** A file's bytes; a missing or unreadable file is a fault that names it. */
export async function* chunksOf(path: string, name: string): AsyncGenerator<Uint8Array> {
	try {
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
	} catch (fault) {
		const { code } = fault as NodeJS.ErrnoException;
		if (code === undefined) throw fault;
		const why = code === 'ENOENT' ? 'the file was there and has gone' : `the file cannot be read (${code})`;
		throw new InputFault([{ file: name, row: null, column: null, found: '', why }]);
	}
}
