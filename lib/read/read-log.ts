import type { Folder, Note, Records, SetAside } from '../model/index.ts';
import { readField } from './read-field.ts';

/** Options for reading a single log. */
export interface LogOptions {
	/** Name of the combine where no column gives one. Default: `A`. */
	combine?: string;
	/** IANA zone of times without an offset. Default: such times are a fault. */
	timeZone?: string;
	/** Columns under other names, as in a log's entry in field.json. */
	columns?: Record<string, unknown>;
	/** Crop, for bushels as a unit. Default: corn. */
	crop?: string;
}

/**
 * Reads one log (CSV, bytes) into columns of typed arrays, with every row that was set aside and every remark.
 *
 * @throws InputFault with every fault of the file: row, column, what was found and what would be accepted.
 *
 * @example
 * ```js
 * const text = `time,lat,lon,flow_kg_s,interval_s,distance_m,swath_m,moisture_pct
 * 2026-10-14T15:00:01Z,42.03,-93.62,18.2,1,2.1,9.144,17.4
 * 2026-10-14T15:00:02Z,42.03002,-93.62,18.6,1,2.1,9.144,17.5`;
 * const { records } = await readLog(new TextEncoder().encode(text));
 * records.flow_kg_s[1]; // → 18.6
 * ```
 */
export async function readLog(
	bytes: Uint8Array,
	options: LogOptions = {},
): Promise<{ records: Records; setAside: SetAside[]; notes: Note[] }> {
	const plan = {
		crop: options.crop ?? 'corn',
		logs: [{ file: 'log.csv', combine: options.combine ?? 'A', columns: options.columns ?? {} }],
		...(options.timeZone === undefined ? {} : { timeZone: options.timeZone }),
	};
	const folder: Folder = new Map(
		[['field.json', new TextEncoder().encode(JSON.stringify(plan))] as const, ['log.csv', bytes] as const].map(
			([name, content]) => [
				name,
				{
					name,
					bytes: content.length,
					chunks: async function* () {
						yield content;
					},
				},
			],
		),
	);
	const { records, setAside, notes } = await readField(folder);
	return { records, setAside, notes };
}
