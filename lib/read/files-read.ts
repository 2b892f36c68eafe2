import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex } from '@noble/hashes/utils.js';
import type { Field, Progress, Source } from '../model/index.ts';

/** Observes files while they are read: size, SHA-256, and progress. */
export class FilesRead {
	readonly inputs: Field['inputs'] = [];
	/** Share of the current file that has been read, 0 if its size is not known. */
	share = 0;
	private done = 0;

	constructor(
		private readonly progress: Progress,
		/** Bytes of all files if known. */
		private readonly all: number,
	) {}

	/** Passes the file's chunks through. Its entry in `inputs` is complete once all have passed. */
	async *watch(source: Source): AsyncGenerator<Uint8Array> {
		const hash = source.sha256?.() ?? sha256.create();
		let bytes = 0;
		for await (const chunk of source.chunks()) {
			hash.update(chunk);
			bytes += chunk.length;
			this.share = source.bytes ? Math.min(1, bytes / source.bytes) : 0;
			this.done += chunk.length;
			this.progress.step('read', this.all > 0 ? Math.min(1, this.done / this.all) : 0);
			yield chunk;
		}
		this.inputs.push({ file: source.name, rows: 0, bytes, sha256: bytesToHex(hash.digest()) });
	}

	/** Lists the files read so far in this order, which they need not have been read in; others come before them. */
	list(files: readonly string[]): void {
		this.inputs.sort((a, b) => files.indexOf(a.file) - files.indexOf(b.file));
	}

	/** Sets the number of rows of the file just read. */
	rows(file: string, rows: number): void {
		const input = this.inputs.find((i) => i.file === file);
		if (input) input.rows = rows;
	}
}
