import type { RawColumn, RawTable } from '../../formats/index.ts';
import { dayOf, type TimeCell, timeCell } from '../../formats/text/time-cell.ts';
import { remembered } from '../../model/index.ts';
import { rolesByName } from '../names/roles-by-name.ts';
import type { Words } from '../names/words.ts';
import { dateOrder, type OrderGuess } from './order.ts';

/** A column that may hold times, and how. */
export interface TimeColumn {
	column: RawColumn;
	/** How strongly its name points to time, date, clock or start; the best of these. */
	score: number;
	kind: 'moment' | 'date' | 'clock' | 'start' | 'epoch' | 'day number' | 'seconds of day' | 'seconds of week' | 'count';
	/** Seconds: since 1970 for moments and dates, since midnight for clocks, as counted for counts. */
	seconds: Float64Array;
	/** Offset from UTC given in the cells, seconds; NaN if none is. */
	offset_s: Float64Array | null;
	order: OrderGuess | null;
	/** Part of the cells that is not a time (a log's number after its start). */
	rest: string[] | null;
	distinct: number;
	/** True if the name mentions UTC or GPS. */
	says: 'utc' | 'gps' | null;
	why: string;
	odd: { row: number; found: string }[];
}

const DAY_S = 86_400;
/** Day 0 of a spreadsheet, 1899-12-30, seconds since 1970. */
const SHEET_ZERO_S = Date.UTC(1899, 11, 30) / 1000;
const EARLIEST_S = Date.UTC(1990, 0, 1) / 1000;
const LATEST_S = Date.UTC(2100, 0, 1) / 1000;

/** Every column that may hold times. `order` overrides the column's own order of day and month. */
export function timeColumns(table: RawTable, dictionary: Words, order: OrderGuess | null): TimeColumn[] {
	const out: TimeColumn[] = [];
	for (const column of table.columns) {
		if (column.as !== undefined && !['time', 'date', 'clock', 'start'].includes(column.as)) continue;
		const found = column.text ? fromText(column, dictionary, order) : fromNumbers(column, dictionary);
		if (found) out.push(found);
	}
	return out;
}

function nameScore(column: RawColumn, dictionary: Words): number {
	if (column.as !== undefined) return 1;
	const roles = rolesByName(column.name, dictionary);
	return Math.max(...(['time', 'date', 'clock', 'start'] as const).map((r) => roles.get(r) ?? 0));
}

const saysOf = (name: string): TimeColumn['says'] =>
	/utc|gmt|zulu/i.test(name) ? 'utc' : /gps|gnss/i.test(name) ? 'gps' : null;

/** A column's cells as times, each different text read once; null if too few of them are times. */
function readCells(text: readonly string[]) {
	const known = new Map<string, TimeCell | null>();
	const cells: (TimeCell | null)[] = [];
	let held = 0;
	let good = 0;
	for (const cell of text) {
		const read = remembered(known, cell, () => (cell === '' ? null : timeCell(cell)));
		cells.push(read);
		if (cell !== '') held++;
		if (read !== null) good++;
		if (held === 200 && good < 100) return null;
	}
	return held === 0 || good < 0.7 * held ? null : { cells, known, good };
}

function fromText(column: RawColumn, dictionary: Words, given: OrderGuess | null): TimeColumn | null {
	const text = column.text!;
	const read = readCells(text);
	if (read === null) return null;
	const { cells, known, good } = read;
	const order = dateOrder(known.values());
	const use = given?.order ?? order?.order ?? 'month first';
	const seconds = new Float64Array(text.length).fill(Number.NaN);
	const offset_s = new Float64Array(text.length).fill(Number.NaN);
	const odd: { row: number; found: string }[] = [];
	let dates = 0;
	let clocks = 0;
	let rests = 0;
	let offsets = 0;
	for (let i = 0; i < cells.length; i++) {
		const cell = cells[i];
		if (!cell) {
			if (text[i] !== '') odd.push({ row: i, found: text[i]! });
			continue;
		}
		const isDate = !Number.isNaN(cell.year);
		const isClock = !Number.isNaN(cell.clock_s);
		if (isDate) dates++;
		if (isClock) clocks++;
		if (cell.rest.length > 1) rests++;
		seconds[i] = (isDate ? dayOf(cell, cell.fixed ? (cell.order ?? use) : use) : 0) + (isClock ? cell.clock_s : 0);
		if (isDate && !(seconds[i]! >= EARLIEST_S && seconds[i]! < LATEST_S)) {
			odd.push({ row: i, found: text[i]! });
			seconds[i] = Number.NaN;
		}
		offset_s[i] = cell.offset_s;
		if (!Number.isNaN(cell.offset_s)) offsets++;
	}
	const distinct = known.size;
	const score = nameScore(column, dictionary);
	const few = distinct <= Math.max(30, text.length / 50) && text.length > 4 * distinct;
	const kind =
		dates > 0.5 * good && clocks > 0.5 * good
			? few && (rests > 0.5 * good || distinct <= 30) && text.length > 50
				? 'start'
				: 'moment'
			: dates > 0.5 * good
				? 'date'
				: 'clock';
	return {
		column,
		score,
		kind,
		seconds,
		offset_s: offsets > 0 ? offset_s : null,
		order: given === null || order?.because.startsWith('its dates') ? order : order && given,
		rest: rests > 0.5 * good ? cells.map((c) => c?.rest ?? '') : null,
		distinct,
		says: saysOf(column.name),
		why: `it holds ${kind === 'clock' ? 'times of day' : kind === 'date' ? 'dates' : 'dates and times'}`,
		odd,
	};
}

function fromNumbers(column: RawColumn, dictionary: Words): TimeColumn | null {
	const score = nameScore(column, dictionary);
	if (score < 0.5) return null;
	const v = column.numbers!;
	const sorted = v.filter(Number.isFinite).sort();
	if (sorted.length === 0) return null;
	let distinct = 1;
	for (let i = 1; i < sorted.length; i++) if (sorted[i] !== sorted[i - 1]) distinct++;
	const numbers: Numbers = {
		sorted,
		low: sorted[0]!,
		high: sorted[sorted.length - 1]!,
		middle: sorted[sorted.length >> 1]!,
		whole: sorted.every((x) => Number.isInteger(x)),
		name: column.name.toLowerCase(),
	};
	const { kind, why, second } = countedSince(column) ?? NUMBER_FORMS.find((form) => form.fits(numbers))!;
	return {
		column,
		score,
		kind,
		seconds: v.map(second),
		offset_s: null,
		order: null,
		rest: null,
		distinct,
		says: saysOf(column.name),
		why,
		odd: [],
	};
}

interface NumberForm {
	kind: TimeColumn['kind'];
	why: string;
	/** A number of this form in seconds. */
	second(x: number): number;
}

/** The form of a column that names the moment it counts from. */
function countedSince({ since, unit }: RawColumn): NumberForm | null {
	if (since === undefined) return null;
	// Without an offset it is local time, and never in the zone of the computer.
	const local = !/(Z|[-+]\d\d:?\d\d)$/i.test(since);
	const since_s = Date.parse(local ? `${since}Z` : since) / 1000;
	const size = { ms: 0.001, min: 60, h: 3600, day: DAY_S, d: DAY_S }[unit ?? 's'] ?? 1;
	return {
		kind: local ? 'moment' : 'epoch',
		why: `the file states it counts from ${since}`,
		second: (x) => since_s + x * size,
	};
}

interface Numbers {
	sorted: Float64Array;
	low: number;
	high: number;
	middle: number;
	whole: boolean;
	/** The column's, in lowercase. */
	name: string;
}

const same = (x: number) => x;
/** HHMMSS as seconds since midnight. */
const clockOf = (x: number) => Math.floor(x / 10_000) * 3600 + (Math.floor(x / 100) % 100) * 60 + (x % 100);
/** YYYYMMDD as seconds since 1970. */
const dateOf = (x: number) => Date.UTC(Math.floor(x / 10_000), (Math.floor(x / 100) % 100) - 1, x % 100) / 1000;

const sinceEpoch = (size: number, name: string): NumberForm & { fits(n: Numbers): boolean } => ({
	kind: 'epoch',
	why: `it counts ${name} since 1970`,
	fits: ({ middle }) => middle * size > EARLIEST_S && middle * size < LATEST_S && (size < 1 || !packed(middle)),
	second: (x) => x * size,
});

/** Spreadsheet day numbers for 1990 to 2099. */
const sheetDays = ({ low, high }: Numbers) => low > 32_874 && high < 73_050 && high - low < 400;
const SHEET_DAYS = {
	why: 'it counts days since 1899-12-30, as spreadsheets do',
	second: (x: number) => SHEET_ZERO_S + x * DAY_S,
};

/** What a column's numbers may be; the first that fits is taken. */
const NUMBER_FORMS: readonly (NumberForm & { fits(n: Numbers): boolean })[] = [
	sinceEpoch(1, 'seconds'),
	sinceEpoch(1e-3, 'milliseconds'),
	sinceEpoch(1e-6, 'microseconds'),
	{
		kind: 'date',
		why: 'it holds dates as year, month and day in one number',
		fits: ({ whole, middle }) => whole && middle > 19_900_101 && middle < 21_000_101,
		second: dateOf,
	},
	{
		kind: 'moment',
		why: 'it holds date and time in one number',
		fits: ({ middle }) => middle > 1.99e13 && middle < 2.1e13,
		second: (x) => dateOf(Math.floor(x / 1e6)) + clockOf(x - Math.floor(x / 1e6) * 1e6),
	},
	// One second per row is 1.2e-5 of a day.
	{ kind: 'date', ...SHEET_DAYS, fits: (n) => n.whole && sheetDays(n) && n.high - n.low < 60 },
	{ kind: 'day number', ...SHEET_DAYS, fits: (n) => !n.whole && sheetDays(n) },
	{
		kind: 'clock',
		why: 'it holds shares of a day',
		fits: ({ low, high, whole }) => low >= 0 && high <= 1 && !whole,
		second: (x) => x * DAY_S,
	},
	{
		kind: 'seconds of week',
		why: 'it counts seconds of the GPS week',
		fits: ({ name, high }) => /week|tow\b/.test(name) && high <= 604_800 && high > 3000,
		second: same,
	},
	{
		kind: 'clock',
		why: 'it holds hours, minutes and seconds in one number: none above 59',
		fits: ({ sorted }) => clockNumbers(sorted),
		second: clockOf,
	},
	{
		kind: 'seconds of day',
		why: 'it counts seconds since midnight',
		fits: ({ low, high }) => low >= 5 * 3600 && high <= DAY_S,
		second: same,
	},
	{ kind: 'count', why: 'it counts from 0', fits: ({ low }) => low === 0, second: same },
	{ kind: 'count', why: 'it counts', fits: () => true, second: same },
];

const packed = (x: number): boolean => x > 1.99e9 && x < 2.1e9 && Math.floor(x / 100) % 100 <= 31;

/** HHMMSS: hours up to 23, never more than 59 minutes or seconds; over a long log, 59 occurs. */
function clockNumbers(sorted: Float64Array): boolean {
	let sixty = 0;
	for (const x of sorted) {
		const minute = Math.floor(x / 100) % 100;
		if (x >= 240_000 || x % 100 >= 60 || minute >= 60) return false;
		if (x % 100 >= 50 || minute >= 50) sixty++;
	}
	return sorted[0]! >= 1000 && sixty > 0 && sorted.length > 60;
}
