import type { TimeGrain } from '../../model/index.ts';

/** A parsed time. The object is reused: copy what you keep. */
export interface ReadTime {
	/** Seconds since 1970 as if the clock's reading were UTC, before `offset_s` is subtracted. */
	reading_s: number;
	/** Offset from UTC given in the text; NaN if there is none (local time). */
	offset_s: number;
	grain: TimeGrain;
}

/** Two digits at p, or −1. */
function two(b: Uint8Array, p: number): number {
	const tens = b[p]! - 48;
	const ones = b[p + 1]! - 48;
	return tens >= 0 && tens <= 9 && ones >= 0 && ones <= 9 ? tens * 10 + ones : -1;
}

let lastDate = Number.NaN;
let lastDay_s = 0;

/**
 * ISO 8601 in its extended form: date, then `T` or a blank and hours and minutes, optional seconds and their fraction,
 * then `Z`, an offset, or nothing. Returns false for anything else, and for impossible days and hours.
 */
export function parseTime(b: Uint8Array, start: number, end: number, into: ReadTime): boolean {
	let p = start;
	let e = end;
	while (p < e && b[p]! <= 32) p++;
	while (e > p && b[e - 1]! <= 32) e--;
	if (e - p < 10) return false;
	const century = two(b, p);
	const years = two(b, p + 2);
	const month = two(b, p + 5);
	const day = two(b, p + 8);
	if (century < 0 || years < 0 || b[p + 4] !== 45 || b[p + 7] !== 45) return false;
	const date = ((century * 100 + years) * 100 + month) * 100 + day;
	if (date !== lastDate) {
		const day_ms = new Date(0).setUTCFullYear(century * 100 + years, month - 1, day);
		// A day that its month does not have is one of the next.
		if (month < 1 || month > 12 || new Date(day_ms).getUTCDate() !== day) return false;
		lastDate = date;
		lastDay_s = day_ms / 1000;
	}
	p += 10;
	into.reading_s = lastDay_s;
	into.offset_s = Number.NaN;
	into.grain = 'day';
	if (p === e) return true;
	if ((b[p] !== 84 && b[p] !== 116 && b[p] !== 32) || e - p < 6 || b[p + 3] !== 58) return false;
	const hour = two(b, p + 1);
	const minute = two(b, p + 4);
	if (hour < 0 || minute < 0 || minute > 59 || hour > 24) return false;
	into.grain = 'minute';
	let seconds = 0;
	p += 6;
	if (b[p] === 58 && p < e) {
		seconds = two(b, p + 1);
		if (e - p < 3 || seconds < 0 || seconds > 60) return false;
		into.grain = 'second';
		p += 3;
		if ((b[p] === 46 || b[p] === 44) && p < e) {
			p++;
			let fraction = 0;
			let scale = 1;
			const from = p;
			for (; p < e && b[p]! >= 48 && b[p]! <= 57; p++) {
				if (scale < 1e9) {
					fraction = fraction * 10 + b[p]! - 48;
					scale *= 10;
				}
			}
			if (p === from) return false;
			seconds += fraction / scale;
		}
	}
	// 24:00 is the end of a day, and nothing comes after it.
	if (hour === 24 && (minute > 0 || seconds > 0)) return false;
	into.reading_s = lastDay_s + hour * 3600 + minute * 60 + seconds;
	return parseOffset(b, p, e, into);
}

function parseOffset(b: Uint8Array, start: number, e: number, into: ReadTime): boolean {
	let p = start;
	if (p === e) return true;
	const c = b[p]!;
	if (c === 90 || c === 122) {
		into.offset_s = 0;
		return p + 1 === e;
	}
	if (c !== 43 && c !== 45) return false;
	const hours = two(b, p + 1);
	if (e - p < 3 || hours < 0 || hours > 15) return false;
	p += 3;
	let minutes = 0;
	if (p < e) {
		if (b[p] === 58) p++;
		minutes = two(b, p);
		if (e - p !== 2 || minutes < 0 || minutes > 59) return false;
	}
	into.offset_s = (c === 45 ? -1 : 1) * (hours * 3600 + minutes * 60);
	return true;
}

/** Earliest and latest year that a yield monitor's clock can mean. */
export const EARLIEST_S = Date.UTC(1990, 0, 1) / 1000;
export const LATEST_S = Date.UTC(2100, 0, 1) / 1000;

/** A time given as text; null if it is not a time. */
export function timeFromText(text: string): ReadTime | null {
	const bytes = new TextEncoder().encode(text);
	const time: ReadTime = { reading_s: 0, offset_s: 0, grain: 'none' };
	return parseTime(bytes, 0, bytes.length, time) ? time : null;
}
