/** Each value of a row as text: to read, to edit, and read back. */
import { keptAll, type Value } from '../../../lib/book/index.ts';
import type { Crop } from '../../../lib/model/index.ts';
import { CROPS } from '../../../lib/units/index.ts';
import { number } from '../../state/format.ts';
import { allCombines, allTrucks, book, carts, destinations, fields, grain } from './state.ts';
import {
	fromKg,
	fromKgHl,
	inBox,
	keyed,
	lengthSize_m,
	lengthUnit,
	massUnit,
	nameOfThing,
	spacingSize_m,
	spacingUnit,
	t,
	testWeightUnit,
	toKg,
	toKgHl,
	truckLabel,
	whenExactly,
} from './words.ts';

type Option = readonly [value: string, label: string];

/** How one kind of value is shown, written into an input, and read back from it. */
interface Shape<V extends Value = Value> {
	/** An input of its own; others are lists of options, or boxes for text. */
	input?: 'flag' | 'combines' | 'split' | 'monitor' | 'crop' | 'time' | 'number';
	/** Unit shown beside an input. */
	unit?(): string;
	/** The choices, if there is a list of them. */
	options?(): readonly Option[];
	/** It is never blank; a value that is not among the choices stays as it is. */
	needed?: true;
	/** As text to read; as it is if not given. */
	shown?(value: V): string;
	/** As text in an input; as it is if not given. */
	written?(value: V): string;
	/** From the text of an input that is not blank; undefined if it cannot be read. As it is if not given. */
	read?(text: string): Value | undefined;
	/** From a blank input; null if not given. */
	blank?: Value;
}

/** A number in a unit of the user's. */
const measure = (unit: () => string, from: (own: number) => number, to: (shown: number) => number, digits: number) => ({
	input: 'number' as const,
	unit,
	shown: (value: number) => `${number(from(value), Math.min(1, digits))} ${unit()}`,
	written: (value: number) => inBox(from(value), digits),
	read(text: string) {
		const n = keyed(text);
		return n === null ? undefined : to(n);
	},
});
const sized = (unit: () => string, size: () => number) =>
	measure(
		unit,
		(own) => own / size(),
		(shown) => shown * size(),
		2,
	);
const choice = (...options: Option[]): Shape<string> => ({
	options: () => options,
	shown: (value) => options.find(([key]) => key === value)?.[1] ?? value,
});
const thing = (list: () => readonly { id: string; v: { name: string } }[]): Shape<string> => ({
	options: () => list().map((x) => [x.id, x.v.name] as const),
	shown: nameOfThing,
});

const TEXT: Shape = {};
const NUMBER = {
	input: 'number' as const,
	shown: (value: number) => number(value, Number.isInteger(value) ? 0 : 2),
	written: (value: number) => inBox(value, 6),
	read: (text: string) => keyed(text) ?? undefined,
};
const PERCENT = { ...NUMBER, unit: () => '%', shown: (value: number) => `${number(value, 1)}%` };
const MASS = measure(massUnit, fromKg, toKg, 0);
const LENGTH = sized(lengthUnit, lengthSize_m);
const TIME: Shape<number> = {
	input: 'time',
	shown: whenExactly,
	written: localTime,
	read(text) {
		const at = new Date(text).getTime();
		return Number.isFinite(at) ? at / 1000 : undefined;
	},
};
const FLAG: Shape<boolean> = {
	input: 'flag',
	shown: (value) => (value ? t.yes : t.no),
	written: (value) => (value ? 'yes' : 'no'),
	read: (text) => text === 'yes',
	blank: false,
};

const HOW: readonly Option[] = [
	['load', t.aLoad],
	['total', t.aTotal],
];
const BASIS: readonly Option[] = [
	['wet', t.wet],
	['dry', t.dry],
];

/** The shape of each value, by its key. */
const SHAPES: Record<string, Shape> = {
	name: TEXT,
	number: TEXT,
	note: TEXT,
	variety: TEXT,
	client: TEXT,
	farm: TEXT,
	timeZone: TEXT,
	landlord: TEXT,
	reading_kg: MASS,
	net_kg: MASS,
	gross_kg: MASS,
	tare_kg: MASS,
	tank_kg: MASS,
	size_kg: MASS,
	room_kg: MASS,
	moisture_pct: PERCENT,
	at_pct: PERCENT,
	limit_pct: PERCENT,
	tolerance_pct: PERCENT,
	landlord_pct: PERCENT,
	handling_pct: PERCENT,
	shrink_pct_per_point: PERCENT,
	testWeight_kg_hl: measure(testWeightUnit, fromKgHl, toKgHl, 1),
	swath_m: LENGTH,
	header_ahead_m: LENGTH,
	row_m: sized(spacingUnit, spacingSize_m),
	value: NUMBER,
	time_s: TIME,
	opened_s: TIME,
	aside: FLAG,
	closed: FLAG,
	away: FLAG,
	struck: { shown: (value) => (value === true ? t.struckOut : t.stands) },
	emptied: choice(['yes', t.tankEmpty], ['no', t.tankNotEmpty]),
	how: choice(...HOW),
	basis: choice(...BASIS),
	unit: choice(['lb', 'lb'], ['bu', 'bu'], ['kg', 'kg'], ['t', 't']),
	combine: thing(() => allCombines.value),
	cart: { ...thing(() => carts.value), needed: true },
	truck: thing(() => allTrucks.value),
	destination: thing(() => destinations.value),
	field: thing(() => fields.value),
	load: {
		options: () =>
			keptAll(book.value, 'load')
				.filter((l) => grain.value.loads.has(l.id))
				.map((l) => [l.id, truckLabel(l.id)] as const)
				.reverse(),
		shown: truckLabel,
	} satisfies Shape<string>,
	combines: {
		input: 'combines',
		shown: (value) => value.map(nameOfThing).join(' + ') || '–',
		written: (value) => value.join(' '),
		read: (text) => text.split(' '),
		blank: [],
	} satisfies Shape<string[]>,
	split: {
		input: 'split',
		shown: (value) =>
			Object.entries(value)
				.map(([id, share]) => `${nameOfThing(id)} ${number(100 * share, 0)}%`)
				.join(', '),
		written(value) {
			const [first] = Object.entries(value);
			return first ? `${first[0]} ${inBox(100 * first[1], 1)}` : '';
		},
		read(text) {
			const [id = '', percent = ''] = text.split(' ');
			const share = keyed(percent);
			return share === null || share <= 0 || share > 100 ? undefined : { [id]: share / 100 };
		},
	} satisfies Shape<Record<string, number>>,
	season: {
		input: 'number',
		read(text) {
			const n = keyed(text);
			return n === null || !Number.isInteger(n) || n < 1990 || n > 2100 ? undefined : n;
		},
	},
	monitor: {
		input: 'monitor',
		shown: ({ how, unit, basis }) =>
			t.monitorAs(how === 'load' ? t.aLoad : t.aTotal, unit, basis === 'wet' ? t.wet : t.dry),
		written: (value) => JSON.stringify(value),
		read: (text) => JSON.parse(text) as Value,
	} satisfies Shape<{ how: string; unit: string; basis: string }>,
	crop: {
		input: 'crop',
		needed: true,
		options: () => CROPS.map((c) => [c.name, t.cropNames[c.name] ?? c.name] as const),
		shown: (value) => (typeof value === 'string' ? value : value.name),
		written: (value) => (typeof value === 'string' ? value : JSON.stringify(value)),
		read: (text) => (text.startsWith('{') ? (JSON.parse(text) as Value) : text),
	} satisfies Shape<string | (Crop & Record<string, Value>)>,
};

/** The shape of a value; plain text for those that no row shows. */
export const shapeOf = (key: string): Shape => (Object.hasOwn(SHAPES, key) ? SHAPES[key]! : TEXT);

const plain = (value: Value): string => (typeof value === 'object' ? JSON.stringify(value) : String(value));

/** A value as text to read. */
export function shownValue(key: string, value: Value | undefined): string {
	if (value === null || value === undefined || value === '') return '–';
	return shapeOf(key).shown?.(value) ?? plain(value);
}

/** A value as text in an input. */
export function writtenValue(key: string, value: Value | undefined): string {
	if (value === null || value === undefined) return '';
	return shapeOf(key).written?.(value) ?? String(value);
}

/** The value of an input's text; undefined if it cannot be read. */
export function readValue(key: string, text: string, before: Value | undefined): Value | undefined {
	// An unchanged value keeps all its digits, though it is shown with fewer.
	if (text === writtenValue(key, before)) return before ?? null;
	const { blank = null, read } = shapeOf(key);
	if (text.trim() === '') return blank;
	return read ? read(text) : text.trim();
}

/** For an input of type datetime-local: local time of the device. */
function localTime(time_s: number): string {
	const d = new Date(time_s * 1000);
	const two = (x: number) => String(x).padStart(2, '0');
	return `${d.getFullYear()}-${two(d.getMonth() + 1)}-${two(d.getDate())}T${two(d.getHours())}:${two(d.getMinutes())}:${two(d.getSeconds())}`;
}
