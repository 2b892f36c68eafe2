import type { ColumnReading, Given, Question } from '../model.ts';
import type { Words } from '../names/words.ts';
import type { TimeColumn } from './candidates.ts';
import type { DateOrder } from './order.ts';

/** Times of a table's rows. */
export interface Instants {
	/** Seconds since 1970, UTC; NaN where unknown. */
	time_s: Float64Array;
	/** Rows in their machine's order where the file's own is another; null: the file's. */
	order: Int32Array | null;
	/** Name of each row's run, where a column tells one log from another. */
	run: string[] | null;
	/** Seconds a record where the way to the time went through durations. */
	used: Set<string>;
	columns: ColumnReading[];
	questions: Question[];
	notes: string[];
	/** True where the time of day is not known. */
	timeless: boolean;
	/** Only days are known. */
	dayOnly: boolean;
	zone: string | null;
	odd: { row: number; column: string; found: string }[];
	/** The same moment may be told as whole seconds or worse: step of the clock, seconds. */
	grain_s: number;
}

export interface TimeContext {
	given: Given;
	/** From the call. */
	timeZone: string | null;
	place: { lon_deg: number; lat_deg: number } | null;
	dictionary?: Words;
	/** What other files of the drop have decided of day and month. */
	order: DateOrder | null;
	/** Seconds a record, for logs without any time. */
	interval: (() => Float64Array | null) | null;
	/** Blocking where weights have to be joined by time. */
	needed: boolean;
}

/** Start of a log whose time of day nobody knows. */
export const NOWHERE_S = Date.UTC(2000, 0, 1) / 1000;

export function read(out: Instants, c: TimeColumn, as: 'time' | 'date' | 'clock' | 'start', unit: string | null): void {
	out.used.add(c.column.name);
	const sure = c.column.certain ? 1 : Math.min(0.99, 0.5 + c.score / 2) * (c.order ? Math.max(0.6, c.order.sure) : 1);
	const because = [c.why];
	if (c.order && Number.isFinite(c.order.sure) && as !== 'clock') because.push(c.order.because);
	out.columns.push({ column: c.column.name, as, unit, sure, because });
}
