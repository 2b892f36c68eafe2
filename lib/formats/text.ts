import type { RawTable } from './table.ts';

/**
 * Delimited text of any dialect as one table. `bytes` is the whole file.
 * @throws InputFault where it holds no table
 */
export function readText(file: string, _bytes: Uint8Array): RawTable {
	return { file, kind: 'text', n: 0, columns: [], meta: {}, notes: [] };
}
