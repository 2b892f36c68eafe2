import type { Folder, Source } from '../../lib/model/index.ts';
import { InputFault, type SetAside } from '../../lib/model/index.ts';
import { readField } from '../../lib/read/index.ts';

/** A file in memory, given in pieces of `size` bytes. */
export function source(name: string, content: string | Uint8Array, size = 1 << 16): Source {
	const bytes = typeof content === 'string' ? new TextEncoder().encode(content) : content;
	return {
		name,
		bytes: bytes.length,
		async *chunks() {
			for (let p = 0; p < bytes.length; p += size) yield bytes.subarray(p, p + size);
		},
	};
}

export const folder = (files: Record<string, string | Uint8Array>, size?: number): Folder =>
	new Map(Object.entries(files).map(([name, content]) => [name, source(name, content, size)]));

export const HEADER = 'time,lat,lon,flow_kg_s,interval_s,distance_m,swath_m,moisture_pct';

/** A log of n good rows, a second each, from 3 October 2026, 14:00 UTC on. */
export function logText(n = 20, change: (row: string[], k: number) => void = () => {}, header = HEADER): string {
	const rows = Array.from({ length: n }, (_, k) => {
		const time = new Date(Date.UTC(2026, 9, 3, 14, 0, k)).toISOString().replace('.000', '');
		const row = [time, (41.6 + k * 1e-5).toFixed(6), '-93.5', String(12 + k / 10), '1', '1.8', '9.144', '18.5'];
		change(row, k);
		return row.join(',');
	});
	return `${header}\n${rows.join('\n')}\n`;
}

/** A field folder with one good log of combine A; `plan` is laid over its field.json, `files` over its files. */
export function fieldFolder(
	plan: Record<string, unknown> = {},
	files: Record<string, string | Uint8Array> = {},
	size?: number,
): Folder {
	const json = { crop: 'corn', logs: [{ file: 'a.csv', combine: 'A' }], ...plan };
	return folder({ 'field.json': JSON.stringify(json), 'a.csv': logText(), ...files }, size);
}

export const read = (plan?: Record<string, unknown>, files?: Record<string, string | Uint8Array>, strict = false) =>
	readField(fieldFolder(plan, files), { strict });

/** The faults that stop the reading of a folder. */
export async function faultsOf(folder: Folder, strict = false): Promise<readonly SetAside[]> {
	try {
		await readField(folder, { strict });
	} catch (fault) {
		if (fault instanceof InputFault) return fault.faults;
		throw fault;
	}
	throw new Error('no fault was found');
}
