import type { RawTable } from '../../formats/index.ts';
import { LOG_WORDS } from '../names/words.ts';
import { type TimeColumn, timeColumns } from './candidates.ts';
import { type Instants, NOWHERE_S, read, type TimeContext } from './found.ts';
import type { OrderGuess } from './order.ts';
import { ask, askOrder, dayGiven, dayInName, orderOf, startGiven } from './questions.ts';
import { fromOrder, fromRuns, fromWeek } from './runs.ts';
import { toUtc, zoneOf } from './zone.ts';

/** Finds the time at which each row was written. */
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
	};
	const best = (...kinds: TimeColumn['kind'][]) =>
		found.filter((c) => kinds.includes(c.kind)).sort((a, b) => b.score - a.score || b.distinct - a.distinct)[0];
	const asked = (text: string) => ask(out, table, context, text);
	const nowhere = () => new Float64Array(n).fill(NOWHERE_S);
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
			reading = join(nowhere(), clock.seconds);
			asked(`"${clock.column.name}" holds the time of day and no date. Of which day is this file?`);
		} else reading = join(new Float64Array(n).fill(day_s), clock.seconds);
	} else if (date && count) {
		main = date;
		reading = date.seconds.map((d, i) => d + count.seconds[i]!);
		read(out, date, 'date', null);
		read(out, count, 'time', 's');
		out.notes.push(`the time of day is not known: "${count.column.name}" counts seconds from some start`);
		out.timeless = true;
	} else if (week) {
		main = week;
		reading = fromWeek(table, week, out);
		read(out, week, 'time', 's');
		if (reading === null) {
			reading = join(nowhere(), week.seconds);
			asked(
				`"${week.column.name}" counts seconds of the GPS week and no column says which week. On which day did this log start?`,
			);
		}
	} else if (count) {
		main = count;
		const start_s = startGiven(given, context);
		const zero = count.seconds[0] || 0;
		reading = count.seconds.map((c) => (start_s ?? NOWHERE_S) + c - zero);
		read(out, count, 'time', 's');
		if (start_s === null) {
			asked(`"${count.column.name}" counts seconds from the first record. When did this log start (date and time)?`);
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
		const known = givenOrder !== null || out.questions.some((q) => q.about === 'date order');
		if (!known && c?.order && c.order.sure < 0.95) askOrder(out, table, c);
	}
	for (const c of [main, main === clock ? date : undefined]) {
		for (const odd of c?.odd ?? []) out.odd.push({ ...odd, column: (c as TimeColumn).column.name });
	}
	toUtc(table, reading as Float64Array, main as TimeColumn, context, out);
	return out;
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
