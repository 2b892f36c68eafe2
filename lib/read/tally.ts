import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex } from '@noble/hashes/utils.js';
import type { Field, Progress, Source } from '../model/index.ts';

/** Watches files go by: size, SHA-256, and how far the reading is. */
export class Tally {
	readonly inputs: Field['inputs'] = [];
	/** Share of the file at hand that has gone by, 0 where its size is not known. */
	share = 0;
	private done = 0;

	constructor(
		private readonly progress: Progress,
		/** Bytes of all files where known. */
		private readonly all: number,
	) {}

	/** The file's chunks, passed through. Its entry in `inputs` is there once they have all gone by. */
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

	/** How many rows the file just read turned out to have. */
	rows(file: string, rows: number): void {
		const input = this.inputs.find((i) => i.file === file);
		if (input) input.rows = rows;
	}
}
