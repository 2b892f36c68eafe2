import type { RawTable } from '../../formats/index.ts';
import { zoneAt } from '../../geo/zone-at.ts';
import { Zone } from '../../units/zone.ts';
import { type Question, question } from '../model.ts';
import type { TimeColumn } from './candidates.ts';
import type { Instants, TimeContext } from './time-context.ts';

export const zoneOf = (context: TimeContext): string | null =>
	context.timeZone ?? (context.place ? zoneAt(context.place.lon_deg, context.place.lat_deg) : null);

/** Local time or UTC: from the file, an answer, or the sun. */
export function toUtc(
	table: RawTable,
	reading: Float64Array,
	main: TimeColumn,
	context: TimeContext,
	out: Instants,
): void {
	const zoneName =
		table.meta.timeZone !== undefined && isZone(table.meta.timeZone) ? table.meta.timeZone : zoneOf(context);
	out.zone = zoneName;
	if (main.kind === 'epoch' || main.kind === 'seconds of week') {
		out.time_s = reading;
		return;
	}
	if (main.offset_s !== null) {
		out.time_s = reading.map((t, i) => t - (Number.isNaN(main.offset_s![i]) ? 0 : main.offset_s![i]!));
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
		out.questions.push(
			question(table.file, {
				about: 'time',
				text: `Times in "${main.column.name}" have no offset from UTC, and the place is not known. Which time zone are they in (such as America/Chicago), or are they UTC?`,
				choices: ['UTC'],
				blocking: true,
				taken: 'UTC',
			}),
		);
		return;
	}
	out.zone = name;
	const zone = new Zone(name);
	const local = new Float64Array(reading.length);
	let last = Number.NaN;
	for (let i = 0; i < reading.length; i++) {
		local[i] = Number.isNaN(reading[i]) ? Number.NaN : zone.utc_s(reading[i]!, last);
		if (!Number.isNaN(local[i])) last = local[i]!;
	}
	out.time_s = local;
	if (answer !== null || main.kind === 'start') return;
	// Grain is cut by day: with which of the two readings is the work at night?
	const asUtc = dayShare(reading, zone);
	const asLocal = dayShare(local, zone);
	const reason = out.columns.at(-1);
	if (said === 'gps' && asUtc >= asLocal - 0.05) {
		out.time_s = reading;
		reason?.because.push('the name says GPS, and receivers give UTC');
		out.questions.push(zoneQuestion(table, main, name, 'UTC'));
	} else if (said === 'gps' || (asUtc > asLocal + 0.5 && asLocal < 0.3)) {
		const utc = asUtc > asLocal + 0.5 && said !== 'gps';
		if (utc) out.time_s = reading;
		reason?.because.push(
			utc ? 'read as local time, the work would be at night' : 'read as UTC, the work would be at night',
		);
		out.questions.push(zoneQuestion(table, main, name, utc ? 'UTC' : name));
	} else {
		reason?.because.push(
			context.timeZone === null ? `local time of ${name}, where the field lies` : `local time of ${name}`,
		);
	}
}

const zoneQuestion = (table: RawTable, main: TimeColumn, zone: string, taken: string): Question =>
	question(table.file, {
		about: 'time',
		text: `Are the times in "${main.column.name}" UTC or local time (${zone})?`,
		choices: ['UTC', zone],
		taken,
	});

/** Share of rows between 7 in the morning and 11 at night, local time. */
function dayShare(utc: Float64Array, zone: Zone): number {
	let day = 0;
	let all = 0;
	const step = Math.max(1, Math.floor(utc.length / 500));
	for (let i = 0; i < utc.length; i += step) {
		const t = utc[i]!;
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
