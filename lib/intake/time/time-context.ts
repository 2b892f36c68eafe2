import type { ColumnReading, Given, Question } from '../model.ts';
import type { Words } from '../names/words.ts';
import type { TimeColumn } from './candidates.ts';
import type { DateOrder } from './order.ts';

/** Times of a table's rows. */
export interface Instants {
	/** Seconds since 1970, UTC; NaN if unknown. */
	time_s: Float64Array;
	/** Rows in their machine's order if it differs from the file's; null: the file's order. */
	order: Int32Array | null;
	/** Name of each row's run, if a column distinguishes logs. */
	run: string[] | null;
	used: Set<string>;
	columns: ColumnReading[];
	questions: Question[];
	notes: string[];
	/** True if the time of day is not known. */
	timeless: boolean;
	/** Only days are known. */
	dayOnly: boolean;
	zone: string | null;
	odd: { row: number; column: string; found: string }[];
}

export interface TimeContext {
	given: Given;
	/** From the call. */
	timeZone: string | null;
	place: { lon_deg: number; lat_deg: number } | null;
	dictionary?: Words;
	/** Order of day and month decided by other files of the drop. */
	order: DateOrder | null;
	/** Seconds per record, for logs without any time. */
	interval: (() => Float64Array | null) | null;
	/** True if weights have to be joined by time: an open question then blocks. */
	needed: boolean;
}

/** Start of a log whose time of day is unknown. */
export const NOWHERE_S = Date.UTC(2000, 0, 1) / 1000;

export function read(out: Instants, c: TimeColumn, as: 'time' | 'date' | 'clock' | 'start', unit: string | null): void {
	out.used.add(c.column.name);
	const sure = c.column.certain ? 1 : Math.min(0.99, 0.5 + c.score / 2) * (c.order ? Math.max(0.6, c.order.sure) : 1);
	const because = [c.why];
	if (c.order && Number.isFinite(c.order.sure) && as !== 'clock') because.push(c.order.because);
	out.columns.push({ column: c.column.name, as, unit, sure, because });
}
