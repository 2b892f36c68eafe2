/** Formats the book's quantities in the user's units, and converts keyed numbers to the library's units. */
import { type Book, cropKnown, dumpsOn, find, ledger, nameOf, type WallTime } from '../../../lib/book/index.ts';
import { type Crop, remembered } from '../../../lib/model/index.ts';
import { BUSHEL_L, FOOT_M, INCH_M, POUND_KG } from '../../../lib/units/index.ts';
import { Zone } from '../../../lib/units/zone.ts';
import { marks, number, signed } from '../../state/format.ts';
import { units } from '../../state/settings.ts';
import { typed, written } from '../../state/typed.ts';
import { strings } from '../../strings/index.ts';
import { book, field } from './state.ts';

export const t = strings.book;

/** The open field's crop; null where it is not known. */
export const crop = (): Crop | null => cropKnown(field.value?.v ?? null);
export const massUnit = (): 'lb' | 'kg' => (units.value === 'us' ? 'lb' : 'kg');

/** A weight without its unit. */
export const massNumber = (kg: number | null, digits = 0): string =>
	number(kg === null ? null : units.value === 'us' ? kg / POUND_KG : kg, digits);
/** A weight with its unit. */
export const mass = (kg: number | null): string => (kg === null ? '–' : `${massNumber(kg)} ${massUnit()}`);
/** A keyed weight as kilograms. */
export const toKg = (shown: number): number => (units.value === 'us' ? shown * POUND_KG : shown);
export const fromKg = (kg: number): number => (units.value === 'us' ? kg / POUND_KG : kg);

export const testWeightUnit = (): string => (units.value === 'us' ? 'lb/bu' : 'kg/hl');
const perHl = BUSHEL_L / 100 / POUND_KG;
export const toKgHl = (shown: number): number => (units.value === 'us' ? shown / perHl : shown);
export const fromKgHl = (kg_hl: number): number => (units.value === 'us' ? kg_hl * perHl : kg_hl);

/** Header widths, ft or m. */
export const lengthUnit = (): string => (units.value === 'us' ? 'ft' : 'm');
export const lengthSize_m = (): number => (units.value === 'us' ? FOOT_M : 1);
/** Row spacings, in. or cm. */
export const spacingUnit = (): string => (units.value === 'us' ? 'in.' : 'cm');
export const spacingSize_m = (): number => (units.value === 'us' ? INCH_M : 0.01);

export const pct = (value: number | null | undefined, digits = 1): string =>
	value === null || value === undefined || !Number.isFinite(value) ? '–' : `${signed(value, digits)}%`;
export const plainPct = (value: number | null | undefined, digits = 1): string => `${number(value, digits)}%`;

/** "−1.2 to +3.4%" */
export function range(i: readonly [number, number] | null, digits = 1): string {
	if (i === null) return '–';
	return `${t.range(signed(i[0], digits), Number.isFinite(i[1]) ? signed(i[1], digits) : '∞')}%`;
}

export const nameOfThing = (id: string | null): string => nameOf(book.value, id);
export const combineNames = (ids: readonly string[], now: Book = book.value): string =>
	ids.map((id) => nameOf(now, id)).join(' + ');

export function truckLabel(loadId: string, now: Book = book.value): string {
	const load = find(now, 'load', loadId);
	if (!load) return '–';
	const truck = nameOf(now, load.v.truck);
	return truck === '' ? t.loadNumber(load.v.number) : t.loadOn(load.v.number, truck);
}

/** A field's crop by name, and whether it is known. */
export const cropName = (f: { v: { crop: string | Crop } }): string =>
	typeof f.v.crop === 'string' ? f.v.crop : f.v.crop.name;
export const cropUnknown = (): boolean => field.value !== null && cropKnown(field.value.v) === null;

const zoneOf = (): string | undefined => field.value?.v.timeZone ?? undefined;

const clocks = new Map<string, Intl.DateTimeFormat>();
function clock(key: string, options: Intl.DateTimeFormatOptions): Intl.DateTimeFormat {
	const timeZone = zoneOf();
	const make = () => new Intl.DateTimeFormat(navigator.language, { ...options, timeZone });
	return remembered(clocks, `${key} ${timeZone}`, make);
}

/** Time of day in the field's zone, with the day unless it is today. */
export function when(time_s: number): string {
	const own = zoneOf() ?? null;
	const today = dayOf(Date.now() / 1000, own) === dayOf(time_s, own);
	const time = { hour: 'numeric', minute: '2-digit' } as const;
	return clock(today ? 'time' : 'day', today ? time : { month: 'short', day: 'numeric', ...time }).format(
		time_s * 1000,
	);
}

export const whenExactly = (time_s: number): string =>
	clock('exact', { dateStyle: 'medium', timeStyle: 'medium' }).format(time_s * 1000);

const zones = new Map<string | null, Zone>();

/** The time zone of that name; null: the device's. */
const zone = (name: string | null): Zone =>
	remembered(zones, name, () => new Zone(name ?? Intl.DateTimeFormat().resolvedOptions().timeZone));

/** The day of a time in a zone, as 2026-10-07. */
export const dayOf = (time_s: number, timeZone: string | null): string =>
	new Date((time_s + zone(timeZone).offset_s(time_s)) * 1000).toISOString().slice(0, 10);

/** Seconds UTC of a wall-clock time in the open field's zone, or the device's. */
export const toUtc = ([y, mo, d, h, mi, s]: WallTime): number =>
	zone(zoneOf() ?? null).utc_s(Date.UTC(y, mo - 1, d, h, mi, s) / 1000);

export { marks };
/** A typed number; null if it is not one. */
export const keyed = (text: string): number | null => typed(text, marks);
/** A number as text for an input. */
export const inBox = (value: number, digits: number): string => written(value, digits, marks);

/** The cart's total on a field so far. */
export function netFieldKg(fieldId: string): number {
	const l = ledger(book.value);
	return dumpsOn(book.value, fieldId).reduce((s, d) => s + (l.byId.get(d.id)?.net_kg ?? 0), 0);
}
