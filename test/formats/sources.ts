import { readFileSync } from 'node:fs';
import type { Loaded } from '../../lib/formats/bytes.ts';
import { type RawSet, readSources } from '../../lib/formats/index.ts';
import { InputFault, type Source } from '../../lib/model/index.ts';

export function sourceOf(name: string, bytes: Uint8Array | string): Source {
	const held = typeof bytes === 'string' ? new TextEncoder().encode(bytes) : bytes;
	return {
		name,
		bytes: held.length,
		async *chunks() {
			// Chunks that end anywhere, as a stream's do.
			for (let at = 0; at < held.length; at += 50_021) yield held.subarray(at, at + 50_021);
		},
	};
}

export const readAll = (files: Record<string, Uint8Array | string>): Promise<RawSet> =>
	readSources(Object.entries(files).map(([name, bytes]) => sourceOf(name, bytes)));

export const loaded = (name: string, bytes: Uint8Array | string): Loaded => ({
	name,
	bytes: typeof bytes === 'string' ? new TextEncoder().encode(bytes) : bytes,
});

/** A file from disk as plain bytes. */
export const fileBytes = (path: string | URL): Uint8Array => new Uint8Array(readFileSync(path));

/** The faults of what is tried, as text; anything else than an InputFault passes on. */
export async function faultOf(work: () => unknown): Promise<string> {
	try {
		await work();
	} catch (fault) {
		if (fault instanceof InputFault) return fault.message;
		throw fault;
	}
	return '';
}

/**
 * Bytes changed, cut and lengthened at random must give a result or a fault that names the file; no other error, and
 * in no more than a moment.
 */
export async function hurt(
	bytes: Uint8Array,
	name: string,
	random: () => number,
	times: number,
	read: (bytes: Uint8Array) => unknown,
): Promise<void> {
	for (let i = 0; i < times; i++) {
		const copy = bytes.slice(0, random() < 0.3 ? Math.floor(random() * bytes.length) : bytes.length);
		const most = 1 + Math.floor(random() * 12);
		for (let k = 0; k < most && copy.length > 0; k++) {
			// Half of the changes near the beginning, where the headers are.
			const at = Math.floor(random() * (random() < 0.5 ? Math.min(copy.length, 400) : copy.length));
			copy[at] = random() < 0.3 ? [0, 255, 127, 128][k % 4]! : Math.floor(random() * 256);
		}
		const start = performance.now();
		const fault = await faultOf(() => read(copy));
		if (fault !== '' && !fault.startsWith(name)) throw new Error(`the fault does not name ${name}: ${fault}`);
		if (performance.now() - start > 3000) throw new Error(`reading took ${performance.now() - start} ms`);
	}
}
