import type { Source } from '../model/index.ts';
import type { RawSet } from './table.ts';

export * from './table.ts';
export { readText } from './text/read.ts';

/**
 * The door of the room: everything that the sources hold, zips and folders opened, as tables and boundaries. What no
 * reader knows, or what cannot be read, is listed under `files` with the reason; nothing throws for one bad file.
 */
export async function readSources(_sources: readonly Source[]): Promise<RawSet> {
	return { files: [], tables: [], boundaries: [] };
}
