import type { RawTable } from '../../formats/index.ts';
import { LOG_WORDS } from '../names/words.ts';
import { type TimeColumn, timeColumns } from './candidates.ts';
import type { OrderGuess } from './order.ts';
import { ask, askOrder, dayGiven, dayInName, orderOf, startGiven } from './questions.ts';
import { type Instants, NOWHERE_S, read, type TimeContext } from './time-context.ts';
import { toUtc, zoneOf } from './to-utc.ts';
import { fromOrder, fromRuns, fromWeek } from './without-clock.ts';

/** The columns that may hold times, the best of each kind, and what is known besides. */
interface Found {
	moment: TimeColumn | undefined;
	date: TimeColumn | undefined;
	clock: TimeColumn | undefined;
	start: TimeColumn | undefined;
	week: TimeColumn | undefined;
	count: TimeColumn | undefined;
	table: RawTable;
	context: TimeContext;
	/** Where columns, notes and questions go. */
	out: Instants;
}

/** Times as a column reads, local or UTC; `count`: from an arbitrary start, so that no zone applies. */
interface Reading {
	seconds: Float64Array;
	main: TimeColumn | 'count';
}

/** Finds the time at which each row was written. */
export function findInstants(table: RawTable, context: TimeContext): Instants {
	const given = orderGiven(context);
	const columns = timeColumns(table, context.dictionary ?? LOG_WORDS, given);
	const out: Instants = {
		time_s: new Float64Array(table.n).fill(Number.NaN),
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
	};
	const best = (...kinds: TimeColumn['kind'][]) =>
		columns.filter((c) => kinds.includes(c.kind)).sort((a, b) => b.score - a.score || b.distinct - a.distinct)[0];
	const found: Found = {
		moment: best('moment', 'epoch', 'day number'),
		date: best('date'),
		clock: best('clock', 'seconds of day'),
		start: best('start'),
		week: best('seconds of week'),
		count: best('count'),
		table,
		context,
		out,
	};
	const { date, start, clock } = found;
	let reading: Reading | null = null;
	for (const way of [byMoment, byDateAndClock, byStart, byClock, byDateAndCount, byWeek, byCount])
		reading ??= way(found);
	reading ??= byOrder(found, given);
	const { seconds, main } = reading;
	if (main === 'count') {
		out.zone = zoneOf(context);
		out.time_s = seconds;
		return out;
	}
	for (const c of [main, date, start]) {
		const known = given !== null || out.questions.some((q) => q.about === 'date order');
		if (!known && c?.order && c.order.sure < 0.95) askOrder(out, table, c);
	}
	for (const c of main === clock && date ? [main, date] : [main])
		for (const odd of c.odd) out.odd.push({ ...odd, column: c.column.name });
	toUtc(table, seconds, main, context, out);
	return out;
}

/** The order of day and month as answered, or as another file shows it. */
function orderGiven({ given, order }: TimeContext): OrderGuess | null {
	const answered = orderOf(given['date order']);
	if (answered !== null) return { order: answered, sure: 1, because: 'day and month as answered' };
	return order && { order, sure: 1, because: 'another file of the same drop decides day and month' };
}

function byMoment({ moment, out }: Found): Reading | null {
	if (!moment || moment.distinct <= 1) return null;
	read(out, moment, 'time', momentUnit(moment));
	return { seconds: moment.seconds, main: moment };
}

function byDateAndClock({ date, clock, out }: Found): Reading | null {
	if (!date || !clock) return null;
	read(out, date, 'date', null);
	read(out, clock, 'clock', null);
	return { seconds: join(date.seconds, clock.seconds), main: clock };
}

function byStart({ start, table, context, out }: Found): Reading | null {
	return start ? { seconds: fromRuns(table, start, context, out), main: start } : null;
}

/** A time of day without a date: of the day that is answered, or that the file's name gives. */
function byClock({ clock, table, context, out }: Found): Reading | null {
	if (!clock) return null;
	read(out, clock, 'clock', null);
	const day_s = dayGiven(context.given) ?? dayInName(table.file);
	if (day_s === null)
		ask(out, table, context, `"${clock.column.name}" holds the time of day and no date. Which day is this file from?`);
	return { seconds: join(new Float64Array(table.n).fill(day_s ?? NOWHERE_S), clock.seconds), main: clock };
}

function byDateAndCount({ date, count, out }: Found): Reading | null {
	if (!date || !count) return null;
	read(out, date, 'date', null);
	read(out, count, 'time', 's');
	out.notes.push(`the time of day is not known: "${count.column.name}" counts seconds from some start`);
	out.timeless = true;
	return { seconds: date.seconds.map((d, i) => d + count.seconds[i]!), main: date };
}

function byWeek({ week, table, context, out }: Found): Reading | null {
	if (!week) return null;
	const seconds = fromWeek(table, week, out);
	read(out, week, 'time', 's');
	if (seconds !== null) return { seconds, main: week };
	ask(
		out,
		table,
		context,
		`"${week.column.name}" counts seconds of the GPS week and no column says which week. On which day did this log start?`,
	);
	return { seconds: join(new Float64Array(table.n).fill(NOWHERE_S), week.seconds), main: week };
}

function byCount({ count, table, context, out }: Found): Reading | null {
	if (!count) return null;
	const start_s = startGiven(context.given, context);
	const zero = count.seconds[0] || 0;
	read(out, count, 'time', 's');
	if (start_s === null)
		ask(
			out,
			table,
			context,
			`"${count.column.name}" counts seconds from the first record. When did this log start (date and time)?`,
		);
	return { seconds: count.seconds.map((c) => (start_s ?? NOWHERE_S) + c - zero), main: 'count' };
}

/** No time of day at all: rows follow each other in the file's order, on the day that a column gives. */
function byOrder({ date, table, context, out }: Found, given: OrderGuess | null): Reading {
	if (date) read(out, date, 'date', null);
	const seconds = fromOrder(table, date ?? null, context, out);
	if (date?.order && date.order.sure < 0.95 && given === null) askOrder(out, table, date);
	out.dayOnly = date !== undefined;
	return { seconds, main: 'count' };
}

const momentUnit = (c: TimeColumn): string | null =>
	c.kind === 'epoch' ? 's' : c.kind === 'day number' ? 'day' : null;

/** A day's seconds and a clock's as times; the clock of a file with a single day may pass midnight. */
function join(day: Float64Array, clock: Float64Array): Float64Array {
	const out = new Float64Array(day.length);
	let extra = 0;
	for (let i = 0; i < day.length; i++) {
		if (i > 0 && day[i] === day[i - 1] && clock[i]! < clock[i - 1]! - 43_200) extra += 86_400;
		if (i > 0 && day[i] !== day[i - 1]) extra = 0;
		out[i] = day[i]! + clock[i]! + extra;
	}
	return out;
}
