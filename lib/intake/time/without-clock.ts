/** Times that no column gives directly: starts and durations, weeks and seconds, the order of the rows. */
import type { RawTable } from '../../formats/index.ts';
import { question } from '../model.ts';
import { rolesByName } from '../names/roles-by-name.ts';
import { LOG_WORDS } from '../names/words.ts';
import type { TimeColumn } from './candidates.ts';
import { ask, secondsGiven, startGiven } from './questions.ts';
import { type Instants, NOWHERE_S, read, type TimeContext } from './time-context.ts';

/** A start in a text column plus durations: time is the start plus the elapsed time, in order of the record number. */
export function fromRuns(table: RawTable, start: TimeColumn, context: TimeContext, out: Instants): Float64Array {
	const n = table.n;
	const names = start.rest ?? start.column.text!;
	const interval = context.interval?.() ?? null;
	const record = table.columns.find(
		(c) =>
			c.numbers && (rolesByName(c.name, LOG_WORDS).get('record') ?? 0) > 0.6 && numbered(c.numbers, start.column.text!),
	);
	const order = Int32Array.from({ length: n }, (_, i) => i);
	const text = start.column.text!;
	if (record?.numbers) {
		const v = record.numbers;
		order.sort((a, b) =>
			text[a] === text[b] ? v[a]! - v[b]! : start.seconds[a]! - start.seconds[b]! || (text[a]! < text[b]! ? -1 : 1),
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
		const key = text[i]!;
		const at = (run.get(key) ?? start.seconds[i]!) + (interval?.[i] || 1);
		run.set(key, at);
		reading[i] = at;
	}
	out.run = names.map((name, i) => runName(name, text[i]!));
	read(out, start, 'start', null);
	out.columns
		.at(-1)!
		.because.push(
			`${run.size} ${run.size === 1 ? 'log' : 'logs'}: each starts at its time, and its records’ durations add up from there`,
		);
	out.notes.push('the time of day is the start of each log and the sum of its records’ durations: pauses do not show');
	return reading;
}

/** A log's name without the brackets around it. */
const runName = (rest: string, text: string): string => rest.replace(/^[([{\s]+|[)\]}\s]+$/g, '') || text;

/** Whether it counts up within each run without repeating a number. */
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
export function fromWeek(table: RawTable, week: TimeColumn, out: Instants): Float64Array | null {
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
		const gps = zero + number.numbers![i]! * 604_800 + s;
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

/** No time at all: rows in the file's order, each one interval after the one before. */
export function fromOrder(table: RawTable, date: TimeColumn | null, context: TimeContext, out: Instants): Float64Array {
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
			for (let i = 0; i < n; i++) reading[i] = (date.seconds[i] || first) + (reading[i]! - start_s) + 43_200;
	}
	out.timeless = true;
	if (interval === null && answered === null) {
		out.questions.push(
			question(table.file, {
				about: 'time: seconds per record',
				text: 'No column holds a time or the seconds that a record covers. How many seconds does one record cover?',
				choices: ['1', '2', '3', '5'],
				blocking: true,
				taken: '1',
			}),
		);
	} else if (date === null)
		ask(out, table, context, 'No column holds a time. When did this log start (date and time)?');
	out.notes.push('no time of day: records are taken in the order of the file');
	return reading;
}
