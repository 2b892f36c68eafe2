/** Questions about times, and their answers. */
import type { RawTable } from '../../formats/index.ts';
import { Zone } from '../../units/zone.ts';
import { type Given, question } from '../model.ts';
import type { TimeColumn } from './candidates.ts';
import type { DateOrder } from './order.ts';
import type { Instants, TimeContext } from './time-context.ts';
import { zoneOf } from './to-utc.ts';

export function ask(out: Instants, table: RawTable, context: TimeContext, text: string): void {
	out.timeless = true;
	out.questions.push(
		question(table.file, {
			about: 'time',
			text,
			blocking: context.needed,
			taken: 'times count from an arbitrary start',
		}),
	);
}

export function askOrder(out: Instants, table: RawTable, c: TimeColumn): void {
	const sample = c.column.text?.find((t) => t !== '') ?? '';
	out.questions.push(
		question(table.file, {
			about: 'date order',
			text: `Dates such as "${sample}" in "${c.column.name}" can be read two ways, and no row of the file decides. Which comes first?`,
			choices: ['month first', 'day first'],
			blocking: true,
			taken: c.order?.order ?? null,
		}),
	);
}

export function orderOf(answer: unknown): DateOrder | null {
	if (typeof answer !== 'string') return null;
	const text = answer.toLowerCase();
	if (/^(m|mdy|us)|month/.test(text) && !/^d/.test(text)) return 'month first';
	return /^(d|dmy)|day/.test(text) ? 'day first' : null;
}

/** Seconds per record, as answered. */
export function secondsGiven(given: Given): number | null {
	for (const key of ['time: seconds per record', 'time', 'seconds per record']) {
		const value = Number(given[key]);
		if (given[key] !== undefined && value > 0 && value < 120) return value;
	}
	return null;
}

/** A log's start as answered under "time": a moment with or without an offset. */
export function startGiven(given: Given, context: TimeContext): number | null {
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

export function dayGiven(given: Given): number | null {
	const answer = given.time;
	const iso = typeof answer === 'string' ? /^\d{4}-\d{2}-\d{2}/.exec(answer.trim())?.[0] : undefined;
	return iso === undefined ? null : Date.parse(`${iso}T00:00:00Z`) / 1000;
}

/** The day in a file's name: "2026-10-08 north.csv", "20261008.csv". */
export function dayInName(file: string): number | null {
	const found = /(20\d{2})[-_.]?(0[1-9]|1[0-2])[-_.]?(0[1-9]|[12]\d|3[01])(?!\d)/.exec(file.split('/').at(-1)!);
	return found === null ? null : Date.UTC(Number(found[1]), Number(found[2]) - 1, Number(found[3])) / 1000;
}
