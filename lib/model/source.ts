/** A file as a name and chunks of bytes. */
export interface Source {
	/** Path relative to the field folder, with forward slashes. */
	readonly name: string;
	/** Size in bytes where known, for progress. */
	readonly bytes?: number;
	/** Every call reads the file from its start. A chunk is valid until the next one is asked for. */
	chunks(): AsyncIterable<Uint8Array>;
	/** The platform's own SHA-256, several times faster than one in JavaScript; if absent, the library's is used. */
	sha256?(): { update(bytes: Uint8Array): unknown; digest(): Uint8Array };
}

/** A field folder: its files by relative name. */
export type Folder = ReadonlyMap<string, Source>;

/** A file to be written: its name and its bytes in chunks. */
export interface Output {
	readonly name: string;
	chunks(): Iterable<Uint8Array> | AsyncIterable<Uint8Array>;
}
