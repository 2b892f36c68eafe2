/** The date or time in a cell. A date whose day and month could be either way round stays open. */
export interface TimeCell {
	year: number;
	/** The two numbers of a date in their order; `order` says which is the month if known. */
	a: number;
	b: number;
	order: 'month first' | 'day first' | null;
	/** The date has only one possible order (year first, or the month as a word). */
	fixed: boolean;
	/** Seconds since midnight, NaN for a date alone. */
	clock_s: number;
	/** Seconds ahead of UTC if the cell gives them; NaN otherwise. */
	offset_s: number;
	/** True if the hour uses AM and PM. */
	ampm: boolean;
	/** The sign between the numbers of the date. */
	sign: string;
	/** Part of the cell that is not a time, without outer signs. */
	rest: string;
}

const MONTHS: readonly RegExp[] = [
	/^(jan|janv|ene|gen)/,
	/^(feb|fev|fév)/,
	/^(mar|mär|mrz)/,
	/^(apr|avr|abr)/,
	/^(may|mai|mag)/,
	/^(jun|juin|giu)/,
	/^(jul|juil|lug)/,
	/^(aug|aoû|aou|ago)/,
	/^(sep|set)/,
	/^(oct|okt|ott)/,
	/^(nov)/,
	/^(dec|dez|déc|dic)/,
];

/** Zones that a logger may write after a time, seconds ahead of UTC. */
const NAMED: Record<string, number> = {
	z: 0,
	utc: 0,
	gmt: 0,
	est: -5,
	edt: -4,
	cst: -6,
	cdt: -5,
	mst: -7,
	mdt: -6,
	pst: -8,
	pdt: -7,
	cet: 1,
	cest: 2,
	mez: 1,
	mesz: 2,
	bst: 1,
};

const CLOCK =
	/(?:^|[\sT_,-])(\d{1,2})(?::|h)(\d{2})(?:(?::|m)(\d{2}(?:[.,]\d+)?)s?)?\s*([ap])?\.?(m)?\.?(?=$|[\s+\-Zz(),;A-Z])/i;
const ISO = /(?:^|\b)(\d{4})([-/.])(\d{1,2})\2(\d{1,2})(?=$|[^\d])/;
const THREE = /(?:^|\b)(\d{1,2})([-/.])\s?(\d{1,2})\2\s?(\d{4}|\d{2})(?=$|[^\d])/;
const PACKED = /(?:^|\b)(19|20)(\d{2})(0[1-9]|1[0-2])(0[1-9]|[12]\d|3[01])(?:[T_ -]?(\d{2})(\d{2})(\d{2})?)?(?=$|\D)/;
const WORDED = /(\d{1,2})[\s.-]+([a-zà-ÿ]{3,9})\.?[\s.,-]+(\d{4}|\d{2})/i;
const WORDED_US = /([a-z]{3,9})\.?\s+(\d{1,2})(?:st|nd|rd|th)?,?\s+(\d{4})/i;

/** Reads the date or time of day in a cell; null if there is neither. */
export function timeCell(cell: string): TimeCell | null {
	const out: TimeCell = {
		year: Number.NaN,
		a: Number.NaN,
		b: Number.NaN,
		order: null,
		fixed: true,
		clock_s: Number.NaN,
		offset_s: Number.NaN,
		ampm: false,
		sign: '',
		rest: '',
	};
	let rest = cell;
	const take = (found: RegExpExecArray) => {
		rest = `${rest.slice(0, found.index)} ${rest.slice(found.index + found[0].length)}`;
	};
	const date = dateIn(cell, out);
	if (date !== null) take(date);
	const clock = CLOCK.exec(rest);
	if (clock !== null) {
		let hour = Number(clock[1]);
		const second = Number((clock[3] ?? '0').replace(',', '.'));
		if (hour > 24 || Number(clock[2]) > 59 || second >= 61) return null;
		if (clock[4] !== undefined) {
			if (hour > 12 || hour === 0) return null;
			hour = (hour % 12) + (clock[4].toLowerCase() === 'p' ? 12 : 0);
			out.ampm = true;
		}
		out.clock_s = hour * 3600 + Number(clock[2]) * 60 + second;
		take(clock);
		const zone = /^\s*(?:(z|utc|gmt|[ecmp][sd]t|cest|cet|mesz|mez|bst)\b)?\s*(?:([+-])(\d{2}):?(\d{2})?)?/i.exec(
			rest.slice(clock.index),
		);
		if (zone !== null && zone[0].trim() !== '') {
			const named = zone[1] === undefined ? 0 : NAMED[zone[1].toLowerCase()]! * 3600;
			const shift = zone[2] === undefined ? 0 : (Number(zone[3]) * 60 + Number(zone[4] ?? 0)) * 60;
			out.offset_s = named + (zone[2] === '-' ? -shift : shift);
			rest = rest.slice(0, clock.index) + rest.slice(clock.index + zone[0].length);
		}
	}
	if (date === null && clock === null) return null;
	out.rest = rest
		.replace(/\b(mon|tue|wed|thu|fri|sat|sun)[a-z]*\b/gi, ' ')
		.replace(/^[\s\-_,;:()[\]#T]+|[\s\-_,;:()[\]#]+$/g, '');
	return out;
}

function dateIn(cell: string, out: TimeCell): RegExpExecArray | null {
	let found = ISO.exec(cell);
	if (found !== null)
		return set(out, [Number(found[1]), Number(found[3]), Number(found[4])], 'month first', found[2]) ? found : null;
	found = THREE.exec(cell);
	if (found !== null) {
		const [a, b, c] = [Number(found[1]), Number(found[3]), found[4]!];
		const order = a > 12 ? 'day first' : b > 12 ? 'month first' : null;
		out.fixed = false;
		// 18/07/12 with a two-digit year: the year may come first too, but then the first number is larger than any
		// day.
		if (c.length === 2 && a > 31)
			return set(out, [yearOf(found[1]!), b, Number(c)], 'month first', found[2]) ? found : null;
		return set(out, [yearOf(c), a, b], order, found[2]) ? found : null;
	}
	found = PACKED.exec(cell);
	if (found !== null) {
		if (found[5] !== undefined) {
			out.clock_s = Number(found[5]) * 3600 + Number(found[6]) * 60 + Number(found[7] ?? 0);
			if (Number(found[5]) > 24 || Number(found[6]) > 59 || Number(found[7] ?? 0) > 60) return null;
		}
		return set(out, [Number(`${found[1]}${found[2]}`), Number(found[3]), Number(found[4])], 'month first', '')
			? found
			: null;
	}
	found = WORDED.exec(cell);
	if (found !== null) {
		const month = monthOf(found[2]!);
		if (month > 0) return set(out, [yearOf(found[3]!), Number(found[1]), month], 'day first', ' ') ? found : null;
	}
	found = WORDED_US.exec(cell);
	if (found !== null) {
		const month = monthOf(found[1]!);
		if (month > 0) return set(out, [Number(found[3]), month, Number(found[2])], 'month first', ' ') ? found : null;
	}
	return null;
}

const yearOf = (text: string): number =>
	text.length === 4 ? Number(text) : Number(text) + (Number(text) < 70 ? 2000 : 1900);

function monthOf(word: string): number {
	return MONTHS.findIndex((m) => m.test(word.toLowerCase())) + 1;
}

function set(
	out: TimeCell,
	[year, a, b]: readonly [number, number, number],
	order: TimeCell['order'],
	sign: string | undefined,
): boolean {
	if (a < 1 || b < 1 || (a > 12 && b > 12) || a > 31 || b > 31) return false;
	out.year = year;
	out.a = a;
	out.b = b;
	out.order = order;
	out.sign = sign ?? '';
	return true;
}

/** Seconds since 1970 of midnight of the cell's day, as if local time were UTC; NaN for an impossible day. */
export function dayOf(cell: TimeCell, order: 'month first' | 'day first'): number {
	const month = order === 'month first' ? cell.a : cell.b;
	const day = order === 'month first' ? cell.b : cell.a;
	if (Number.isNaN(cell.year)) return Number.NaN;
	const at = Date.UTC(cell.year, month - 1, day);
	const back = new Date(at);
	return back.getUTCMonth() === month - 1 && back.getUTCDate() === day ? at / 1000 : Number.NaN;
}
