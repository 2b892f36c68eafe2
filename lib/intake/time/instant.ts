import type { RawTable } from '../../formats/index.ts';
import { zoneAt } from '../../geo/zone-at.ts';
import { Zone } from '../../units/zone.ts';
import { middleOf } from '../log/fit.ts';
import type { ColumnReading, Given, Question } from '../model.ts';
import { rolesByName } from '../names/match.ts';
import { LOG_WORDS, type Words } from '../names/words.ts';
import { type TimeColumn, timeColumns } from './candidates.ts';
import type { DateOrder, OrderGuess } from './order.ts';

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
const NOWHERE_S = Date.UTC(2000, 0, 1) / 1000;

/** Finds when each row was written. */
export function findInstants(table: RawTable, context: TimeContext): Instants {
	const { given } = context;
	const n = table.n;
	const answered = orderOf(given['date order']);
	const givenOrder: OrderGuess | null =
		answered !== null
			? { order: answered, sure: 1, because: 'day and month as answered' }
			: context.order && {
					order: context.order,
					sure: 1,
					because: 'another file of the same drop decides day and month',
				};
	const found = timeColumns(table, context.dictionary ?? LOG_WORDS, givenOrder);
	const out: Instants = {
		time_s: new Float64Array(n).fill(Number.NaN),
		order: null,
		run: null,
		used: new Set(),
		columns: [],
		questions: [],
		notes: [],
		timeless: false,
		dayOnly: false,
		zone: null,
		odd: [],
		grain_s: 1,
	};
	const best = (...kinds: TimeColumn['kind'][]) =>
		found.filter((c) => kinds.includes(c.kind)).sort((a, b) => b.score - a.score || b.distinct - a.distinct)[0];
	const moment = best('moment', 'epoch', 'day number');
	const date = best('date');
	const clock = best('clock', 'seconds of day');
	const start = best('start');
	const week = best('seconds of week');
	const count = best('count');
	let reading: Float64Array | null = null;
	let main: TimeColumn | undefined;
	if (moment && moment.distinct > 1) {
		main = moment;
		reading = moment.seconds;
		read(out, moment, 'time', momentUnit(moment));
	} else if (date && clock) {
		main = clock;
		reading = join(date.seconds, clock.seconds);
		read(out, date, 'date', null);
		read(out, clock, 'clock', null);
		if (date.order) out.columns.at(-2)!.because.push(date.order.because);
	} else if (start) {
		main = start;
		reading = fromRuns(table, start, context, out);
	} else if (clock && !date) {
		const day_s = dayGiven(given) ?? dayInName(table.file);
		main = clock;
		read(out, clock, 'clock', null);
		if (day_s === null) {
			reading = join(new Float64Array(n).fill(NOWHERE_S), clock.seconds);
			ask(out, table, context, `"${clock.column.name}" holds the time of day and no date. Of which day is this file?`);
		} else reading = join(new Float64Array(n).fill(day_s), clock.seconds);
	} else if (date && count) {
		main = date;
		reading = date.seconds.map((d, i) => d + (count.seconds[i] as number));
		read(out, date, 'date', null);
		read(out, count, 'time', 's');
		out.notes.push(`the time of day is not known: "${count.column.name}" counts seconds from some start`);
		out.timeless = true;
	} else if (week) {
		main = week;
		reading = fromWeek(table, week, out);
		read(out, week, 'time', 's');
		if (reading === null) {
			reading = join(new Float64Array(n).fill(NOWHERE_S), week.seconds);
			ask(
				out,
				table,
				context,
				`"${week.column.name}" counts seconds of the GPS week and no column says which week. On which day did this log start?`,
			);
		}
	} else if (count) {
		main = count;
		const start_s = startGiven(given, context);
		const zero = middleOf([count.seconds[0] as number]);
		reading = count.seconds.map((c) => (start_s ?? NOWHERE_S) + c - (zero || 0));
		read(out, count, 'time', 's');
		if (start_s === null) {
			ask(
				out,
				table,
				context,
				`"${count.column.name}" counts seconds from the first record. When did this log start (date and time)?`,
			);
		}
		out.time_s = reading;
		out.zone = zoneOf(context);
		return out;
	} else {
		if (date) read(out, date, 'date', null);
		reading = fromOrder(table, date ?? null, context, out);
		if (date?.order && date.order.sure < 0.95 && givenOrder === null) askOrder(out, table, date);
		out.dayOnly = date !== undefined;
		out.zone = zoneOf(context);
		out.time_s = reading;
		return out;
	}
	for (const c of [main, date, start]) {
		if (
			c?.order &&
			c.order.sure < 0.95 &&
			givenOrder === null &&
			!out.questions.some((q) => q.about === 'date order')
		) {
			askOrder(out, table, c);
		}
	}
	for (const c of [main, main === clock ? date : undefined]) {
		for (const odd of c?.odd ?? []) out.odd.push({ ...odd, column: (c as TimeColumn).column.name });
	}
	toUtc(table, reading as Float64Array, main as TimeColumn, context, out);
	return out;
}

function read(out: Instants, c: TimeColumn, as: 'time' | 'date' | 'clock' | 'start', unit: string | null): void {
	out.used.add(c.column.name);
	const sure = c.column.certain ? 1 : Math.min(0.99, 0.5 + c.score / 2) * (c.order ? Math.max(0.6, c.order.sure) : 1);
	const because = [c.why];
	if (c.order && Number.isFinite(c.order.sure) && as !== 'clock') because.push(c.order.because);
	out.columns.push({ column: c.column.name, as, unit, sure, because });
}

const momentUnit = (c: TimeColumn): string | null =>
	c.kind === 'epoch' ? 's' : c.kind === 'day number' ? 'day' : null;

/** A day's seconds and a clock's as moments; the clock of a file that names one day may pass midnight. */
function join(day: Float64Array, clock: Float64Array): Float64Array {
	const out = new Float64Array(day.length);
	let extra = 0;
	for (let i = 0; i < day.length; i++) {
		if (i > 0 && day[i] === day[i - 1] && (clock[i] as number) < (clock[i - 1] as number) - 43_200) extra += 86_400;
		if (i > 0 && day[i] !== day[i - 1]) extra = 0;
		out[i] = (day[i] as number) + (clock[i] as number) + extra;
	}
	return out;
}

/** A start in a text column and durations: time is the start and what has run since, in order of the record number. */
function fromRuns(table: RawTable, start: TimeColumn, context: TimeContext, out: Instants): Float64Array | null {
	const n = table.n;
	const names = start.rest ?? (start.column.text as string[]);
	const interval = context.interval?.() ?? null;
	const record = table.columns.find(
		(c) =>
			c.numbers &&
			(rolesByName(c.name, LOG_WORDS).get('record') ?? 0) > 0.6 &&
			numbered(c.numbers, start.column.text as string[]),
	);
	const order = Int32Array.from({ length: n }, (_, i) => i);
	const text = start.column.text as string[];
	if (record?.numbers) {
		const v = record.numbers;
		order.sort((a, b) =>
			text[a] === text[b]
				? (v[a] as number) - (v[b] as number)
				: (start.seconds[a] as number) - (start.seconds[b] as number) || (text[a]! < text[b]! ? -1 : 1),
		);
		out.columns.push({
			column: record.name,
			as: 'record',
			unit: null,
			sure: 0.9,
			because: [`it numbers the records of each "${start.column.name}"`],
		});
		out.used.add(record.name);
		out.order = order;
	}
	const reading = new Float64Array(n).fill(Number.NaN);
	const run = new Map<string, number>();
	for (const i of order) {
		const key = text[i] as string;
		const at = (run.get(key) ?? (start.seconds[i] as number)) + (interval?.[i] || 1);
		run.set(key, at);
		reading[i] = at;
	}
	out.run = names.map((name, i) => runName(name, text[i] as string));
	read(out, start, 'start', null);
	out.columns
		.at(-1)!
		.because.push(
			`${run.size} ${run.size === 1 ? 'log' : 'logs'}: each starts at its time, and its records’ durations add up from there`,
		);
	out.notes.push('the time of day is the start of each log and the sum of its records’ durations: pauses are not seen');
	return reading;
}

/** A log's name without the brackets about it. */
const runName = (rest: string, text: string): string => rest.replace(/^[([{\s]+|[)\]}\s]+$/g, '') || text;

/** Counts up within each run without a number twice. */
function numbered(v: Float64Array, run: readonly string[]): boolean {
	const seen = new Set<string>();
	for (let i = 0; i < v.length; i++) {
		const key = `${run[i]}\t${v[i]}`;
		if (Number.isNaN(v[i]) || seen.has(key)) return false;
		seen.add(key);
	}
	return true;
}

/** GPS weeks since 1980-01-06; leap seconds since then. */
function fromWeek(table: RawTable, week: TimeColumn, out: Instants): Float64Array | null {
	const number = table.columns.find((c) => c.numbers && c !== week.column && /week/i.test(c.name));
	if (!number?.numbers) return null;
	out.used.add(number.name);
	out.columns.push({
		column: number.name,
		as: 'date',
		unit: null,
		sure: 0.95,
		because: ['it holds the number of the GPS week'],
	});
	const zero = Date.UTC(1980, 0, 6) / 1000;
	return week.seconds.map((s, i) => {
		const gps = zero + (number.numbers![i] as number) * 604_800 + s;
		return gps - leapSeconds(gps);
	});
}

/** GPS less UTC: leap seconds of 2009, 2012, 2015 and 2017 (IERS Bulletin C). */
function leapSeconds(time_s: number): number {
	const from: [number, number][] = [
		[Date.UTC(2017, 0, 1), 18],
		[Date.UTC(2015, 6, 1), 17],
		[Date.UTC(2012, 6, 1), 16],
		[Date.UTC(2009, 0, 1), 15],
		[Date.UTC(2006, 0, 1), 14],
	];
	return from.find(([at]) => time_s * 1000 >= at)?.[1] ?? 13;
}

/** No time at all: rows in the file's order, one after another. */
function fromOrder(table: RawTable, date: TimeColumn | null, context: TimeContext, out: Instants): Float64Array {
	const n = table.n;
	const interval = context.interval?.() ?? null;
	const start_s = startGiven(context.given, context) ?? NOWHERE_S;
	const answered = secondsGiven(context.given);
	const reading = new Float64Array(n);
	let at = start_s;
	for (let i = 0; i < n; i++) {
		at += interval?.[i] || answered || 1;
		reading[i] = at;
	}
	if (date) {
		const first = date.seconds.find((d) => !Number.isNaN(d));
		if (first !== undefined)
			for (let i = 0; i < n; i++) reading[i] = (date.seconds[i] || first) + ((reading[i] as number) - start_s) + 43_200;
	}
	out.timeless = true;
	if (interval === null && answered === null) {
		out.questions.push({
			about: 'time: seconds per record',
			text: 'No column holds a time or the seconds that a record covers. How many seconds does one record cover?',
			choices: ['1', '2', '3', '5'],
			blocking: true,
			taken: '1',
			file: table.file,
		});
	} else if (date === null)
		ask(out, table, context, 'No column holds a time. When did this log start (date and time)?');
	out.notes.push('no time of day: records follow on each other in the order of the file');
	return reading;
}

function ask(out: Instants, table: RawTable, context: TimeContext, text: string): void {
	out.timeless = true;
	out.questions.push({
		about: 'time',
		text,
		choices: [],
		blocking: context.needed,
		taken: 'times count from an arbitrary start',
		file: table.file,
	});
}

function askOrder(out: Instants, table: RawTable, c: TimeColumn): void {
	const sample = c.column.text?.find((t) => t !== '') ?? '';
	out.questions.push({
		about: 'date order',
		text: `Dates such as "${sample}" in "${c.column.name}" can be read two ways, and no row of the file decides. Which comes first?`,
		choices: ['month first', 'day first'],
		blocking: true,
		taken: c.order?.order ?? null,
		file: table.file,
	});
}

const zoneOf = (context: TimeContext): string | null =>
	context.timeZone ?? (context.place ? zoneAt(context.place.lon_deg, context.place.lat_deg) : null);

/** Local or UTC: what the file says, what it was asked, the sun. */
function toUtc(table: RawTable, reading: Float64Array, main: TimeColumn, context: TimeContext, out: Instants): void {
	const zoneName =
		table.meta.timeZone !== undefined && isZone(table.meta.timeZone) ? table.meta.timeZone : zoneOf(context);
	out.zone = zoneName;
	if (main.kind === 'epoch' || main.kind === 'seconds of week') {
		out.time_s = reading;
		return;
	}
	if (main.offset_s !== null) {
		out.time_s = reading.map((t, i) => t - (Number.isNaN(main.offset_s![i]) ? 0 : (main.offset_s![i] as number)));
		return;
	}
	const answer = typeof context.given.time === 'string' ? context.given.time.trim() : null;
	const said =
		main.column.certain && table.meta.timeScale === 'local'
			? null
			: (main.says ?? (/utc/i.test(table.meta.timeZone ?? '') || table.meta.timeScale === 'utc' ? 'utc' : null));
	if ((answer !== null && /^(utc|gmt|z)$/i.test(answer)) || (answer === null && said === 'utc')) {
		out.time_s = reading;
		out.columns.find((c) => out.used.has(c.column))?.because.push(answer ? 'UTC, as answered' : 'it says UTC');
		return;
	}
	const name = answer !== null && isZone(answer) ? answer : zoneName;
	if (name === null) {
		out.time_s = reading;
		out.questions.push({
			about: 'time',
			text: `Times in "${main.column.name}" have no offset from UTC, and the place is not known. Of which time zone are they (such as America/Chicago), or are they UTC?`,
			choices: ['UTC'],
			blocking: true,
			taken: 'UTC',
			file: table.file,
		});
		return;
	}
	out.zone = name;
	const zone = new Zone(name);
	const local = new Float64Array(reading.length);
	let last = Number.NaN;
	for (let i = 0; i < reading.length; i++) {
		local[i] = Number.isNaN(reading[i]) ? Number.NaN : zone.utc_s(reading[i] as number, last);
		if (!Number.isNaN(local[i])) last = local[i] as number;
	}
	out.time_s = local;
	if (answer !== null || main.kind === 'start') return;
	// Grain is cut by day: at which of the two readings does the work lie in the night?
	const asUtc = dayShare(reading, zone);
	const asLocal = dayShare(local, zone);
	const reason = out.columns.at(-1);
	if (said === 'gps' && asUtc >= asLocal - 0.05) {
		out.time_s = reading;
		reason?.because.push('the name speaks of GPS, whose time is UTC’s');
		out.questions.push(zoneQuestion(table, main, name, 'UTC'));
	} else if (said === 'gps' || (asUtc > asLocal + 0.5 && asLocal < 0.3)) {
		const utc = asUtc > asLocal + 0.5 && said !== 'gps';
		if (utc) out.time_s = reading;
		reason?.because.push(
			utc ? 'read as local time the work would lie in the night' : 'read as UTC the work would lie in the night',
		);
		out.questions.push(zoneQuestion(table, main, name, utc ? 'UTC' : name));
	} else {
		reason?.because.push(
			context.timeZone === null ? `local time of ${name}, where the field lies` : `local time of ${name}`,
		);
	}
}

const zoneQuestion = (table: RawTable, main: TimeColumn, zone: string, taken: string): Question => ({
	about: 'time',
	text: `Are the times in "${main.column.name}" UTC or local time (${zone})?`,
	choices: ['UTC', zone],
	blocking: false,
	taken,
	file: table.file,
});

/** Share of rows between 7 in the morning and 11 at night, local time. */
function dayShare(utc: Float64Array, zone: Zone): number {
	let day = 0;
	let all = 0;
	const step = Math.max(1, Math.floor(utc.length / 500));
	for (let i = 0; i < utc.length; i += step) {
		const t = utc[i] as number;
		if (Number.isNaN(t)) continue;
		const hour = ((((t + zone.offset_s(t)) / 3600) % 24) + 24) % 24;
		all++;
		if (hour >= 7 && hour < 23) day++;
	}
	return all === 0 ? 1 : day / all;
}

/** Whether this is the name of an IANA time zone, such as America/Chicago. */
export function isZone(name: string): boolean {
	try {
		new Zone(name);
		return name.includes('/') || /^utc$/i.test(name);
	} catch {
		return false;
	}
}

export function orderOf(answer: unknown): DateOrder | null {
	if (typeof answer !== 'string') return null;
	const text = answer.toLowerCase();
	if (/^(m|mdy|us)|month/.test(text) && !/^d/.test(text)) return 'month first';
	return /^(d|dmy)|day/.test(text) ? 'day first' : null;
}

/** Seconds a record, as answered. */
function secondsGiven(given: Given): number | null {
	for (const key of ['time: seconds per record', 'time', 'seconds per record']) {
		const value = Number(given[key]);
		if (given[key] !== undefined && value > 0 && value < 120) return value;
	}
	return null;
}

/** A log's start as answered under "time": a moment with or without an offset. */
function startGiven(given: Given, context: TimeContext): number | null {
	const answer = given.time ?? given['time: start'];
	if (typeof answer !== 'string') return null;
	const iso = /^(\d{4}-\d{2}-\d{2})(?:[T ](\d{2}:\d{2}(?::\d{2}(?:\.\d+)?)?))?\s*(Z|[+-]\d{2}:?\d{2})?$/.exec(
		answer.trim(),
	);
	if (iso === null) return null;
	const local_s = Date.parse(`${iso[1]}T${iso[2] ?? '12:00:00'}Z`) / 1000;
	if (iso[3] !== undefined) return Date.parse(`${iso[1]}T${iso[2] ?? '12:00:00'}${iso[3]}`) / 1000;
	const zone = zoneOf(context);
	return zone === null ? local_s : new Zone(zone).utc_s(local_s);
}

function dayGiven(given: Given): number | null {
	const answer = given.time;
	const iso = typeof answer === 'string' ? /^\d{4}-\d{2}-\d{2}/.exec(answer.trim())?.[0] : undefined;
	return iso === undefined ? null : Date.parse(`${iso}T00:00:00Z`) / 1000;
}

/** The day that a file's name holds: "2026-10-08 north.csv", "20261008.csv". */
function dayInName(file: string): number | null {
	const found = /(20\d{2})[-_.]?(0[1-9]|1[0-2])[-_.]?(0[1-9]|[12]\d|3[01])(?!\d)/.exec(
		file.split('/').at(-1) as string,
	);
	return found === null ? null : Date.UTC(Number(found[1]), Number(found[2]) - 1, Number(found[3])) / 1000;
}
