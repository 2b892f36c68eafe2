/** A file as chunks of bytes and a name: never a path, never one string. */
export interface Source {
	/** Path relative to the field folder, with forward slashes. */
	readonly name: string;
	/** Size in bytes where known, for progress. */
	readonly bytes?: number;
	/** Every call starts a fresh pass over the file. */
	chunks(): AsyncIterable<Uint8Array>;
	/** SHA-256 as the machine has it, several times as fast as one in JavaScript; without it the library's own is used. */
	sha256?(): { update(bytes: Uint8Array): unknown; digest(): Uint8Array };
}

/** A field folder: its files by relative name. */
export type Folder = ReadonlyMap<string, Source>;

/** A file to be written: its name and its bytes, made chunk by chunk. */
export interface Output {
	readonly name: string;
	chunks(): Iterable<Uint8Array> | AsyncIterable<Uint8Array>;
}
