/** Numbers, dates and quantities in the reader's locale and chosen units. */
import { type Crop, remembered } from '../../lib/model/index.ts';
import { FLAG_WORDS, inOneSystem, type Numbers, type Quantity, type Shown, shown } from '../../lib/units/index.ts';
import { units } from './settings.ts';
import { inMarks, marksOf } from './typed.ts';

export type { Quantity, Shown };

/** The reader's decimal and group separators. */
export const marks = marksOf(navigator.language);

const formats = new Map<string, Intl.NumberFormat>();

/** A number with fixed digits (−2 rounds to hundreds) and a true minus sign; a dash where there is none. */
export function number(value: number | null | undefined, digits: number): string {
	if (value === null || value === undefined || !Number.isFinite(value)) return '–';
	return formatOf(digits, 'auto').format(rounded(value, digits)).replace('-', '−');
}

/** A number with its sign, for differences. */
export function signed(value: number | null | undefined, digits: number): string {
	if (value === null || value === undefined || !Number.isFinite(value)) return '–';
	return formatOf(digits, 'exceptZero').format(rounded(value, digits)).replace('-', '−');
}

const rounded = (value: number, digits: number): number =>
	digits < 0 ? Math.round(value * 10 ** digits) / 10 ** digits : value;

function formatOf(digits: number, signDisplay: 'auto' | 'exceptZero'): Intl.NumberFormat {
	const key = `${digits}${signDisplay}`;
	const fraction = Math.max(0, digits);
	const options = { minimumFractionDigits: fraction, maximumFractionDigits: fraction, signDisplay };
	return remembered(formats, key, () => new Intl.NumberFormat(navigator.language, options));
}

/** How a quantity is shown now. */
export const shownAs = (quantity: Quantity, crop: Crop): Shown => shown(quantity, units.value, crop);

/** A value in the library's own unit as text with the unit shown: "182.3 bu/ac". */
export function quantity(value: number | null | undefined, what: Quantity, crop: Crop, digits?: number): string {
	const s = shownAs(what, crop);
	const text = number(value === null || value === undefined ? value : value * s.factor, digits ?? s.digits);
	return text === '–' ? text : `${text}${s.unit === '%' ? '' : ' '}${s.unit}`;
}

/** A 95 % interval: "0.934 to 0.946". */
export const interval = (range: readonly [number, number] | null, digits: number): string =>
	range === null ? '–' : `${number(range[0], digits)} to ${number(range[1], digits)}`;

/** An interval of a difference, with signs: "−1.2 to +2.0". */
export const signedInterval = (range: readonly [number, number] | null, digits: number): string =>
	range === null ? '–' : `${signed(range[0], digits)} to ${signed(range[1], digits)}`;

/** An interval of a quantity, with its unit once. */
export const quantityRange = (
	range: readonly [number, number],
	what: Quantity,
	crop: Crop,
	digits?: number,
): string => {
	const s = shownAs(what, crop);
	return `${number(range[0] * s.factor, digits ?? s.digits)} to ${quantity(range[1], what, crop, digits)}`;
};

/** A text of the library in the chosen units and the reader's marks. */
export const own = (text: string): string => inMarks(inOneSystem(text, units.value), marks);

/** Number formats for the library's sentences, in the reader's locale. */
export const numbers: Numbers = { number, signed };

/** The monitor's error for a factor, percent. */
export const errorOfFactor_pct = (factor: number): number => 100 * (1 / factor - 1);

/** A time of day in the field's own time zone. */
export function clockTime(time_s: number, zone: string | null, seconds = true): string {
	if (!Number.isFinite(time_s)) return '–';
	return new Intl.DateTimeFormat(navigator.language, {
		hour: 'numeric',
		minute: '2-digit',
		...(seconds ? { second: '2-digit' as const } : {}),
		timeZone: zone ?? 'UTC',
	}).format(time_s * 1000);
}

/** Date and time in the field's own time zone. */
export function dateTime(time_s: number, zone: string | null): string {
	if (!Number.isFinite(time_s)) return '–';
	return new Intl.DateTimeFormat(navigator.language, {
		dateStyle: 'medium',
		timeStyle: 'medium',
		timeZone: zone ?? 'UTC',
	}).format(time_s * 1000);
}

/** A duration: "12 s", "2 min 17 s", "1 h 03 min". */
export function duration(seconds: number): string {
	const s = Math.abs(Math.round(seconds));
	const sign = seconds < 0 ? '−' : '';
	if (s < 60) return `${sign}${s} s`;
	if (s < 3600) return `${sign}${Math.floor(s / 60)} min${s % 60 ? ` ${s % 60} s` : ''}`;
	return `${sign}${Math.floor(s / 3600)} h ${String(Math.floor((s % 3600) / 60)).padStart(2, '0')} min`;
}

/** What a flag says of a record. */
export const flagWords = (flag: string): string => FLAG_WORDS[flag as keyof typeof FLAG_WORDS] ?? flag;
