import { InputFault, type Source, wholeFile } from '../model/index.ts';

/** A whole file in memory. */
export interface Loaded {
	readonly name: string;
	readonly bytes: Uint8Array;
}

/** A fault of a whole file: what was found and what would help, in the user's words. */
export function fileFault(file: string, found: string, why: string): InputFault {
	return new InputFault([wholeFile(file, found, why)]);
}

/**
 * All bytes of a source. Memory grows with what arrives, whatever a header claims.
 *
 * @throws InputFault where there are more than `most` bytes
 */
export async function load(source: Source, most = 2 ** 31): Promise<Loaded> {
	const parts: Uint8Array[] = [];
	let n = 0;
	for await (const part of source.chunks()) {
		n += part.length;
		if (n > most) {
			throw fileFault(
				source.name,
				`more than ${sizeText(most)}`,
				'the file is too large to open; export one season or one field at a time',
			);
		}
		parts.push(part.slice());
	}
	return { name: source.name, bytes: joined(parts) };
}

/** Chunks as one; a single one as it is. */
export function joined(parts: readonly Uint8Array[]): Uint8Array {
	if (parts.length === 1) return parts[0]!;
	const bytes = new Uint8Array(parts.reduce((n, p) => n + p.length, 0));
	let at = 0;
	for (const part of parts) {
		bytes.set(part, at);
		at += part.length;
	}
	return bytes;
}

/** The first bytes of a source, at most `most`. */
export async function head(source: Source, most: number): Promise<Uint8Array> {
	const out = new Uint8Array(most);
	let n = 0;
	for await (const part of source.chunks()) {
		const take = part.subarray(0, most - n);
		out.set(take, n);
		n += take.length;
		if (n === most) break;
	}
	return out.subarray(0, n);
}

export const viewOf = (bytes: Uint8Array): DataView => new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);

/** A readable size: "24 MB". */
export function sizeText(bytes: number): string {
	if (bytes >= 1e9) return `${(bytes / 1e9).toFixed(1)} GB`;
	if (bytes >= 1e6) return `${Math.round(bytes / 1e6)} MB`;
	return bytes >= 1000 ? `${Math.round(bytes / 1000)} kB` : `${bytes} bytes`;
}

/** The file extension in lower case, without its dot; '' if there is none. */
export function endingOf(name: string): string {
	return /\.([^./]+)$/.exec(name)?.[1]?.toLowerCase() ?? '';
}

/** A name without its extension. */
export const stemOf = (name: string): string => name.replace(/\.[^./]*$/, '');

/** The last part of a path, without its extension. */
export const baseOf = (name: string): string => stemOf(name.slice(name.lastIndexOf('/') + 1));
