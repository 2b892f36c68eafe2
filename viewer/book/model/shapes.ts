/** Values of each shape as text: to read, to edit, and read back. */
import type { Value } from '../../../lib/book/index.ts';
import { keptAll } from '../../../lib/book/index.ts';
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
	mass,
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

export type Shape =
	| 'mass'
	| 'pct'
	| 'testWeight'
	| 'number'
	| 'length'
	| 'spacing'
	| 'year'
	| 'crop'
	| 'monitor'
	| 'text'
	| 'time'
	| 'flag'
	| 'combines'
	| 'split'
	| 'emptied'
	| 'how'
	| 'unit'
	| 'basis'
	| 'combine'
	| 'cart'
	| 'truck'
	| 'destination'
	| 'field'
	| 'load';

/** Unit shown beside an input. */
export function unitOf(shape: Shape): string | undefined {
	const units: { [s in Shape]?: string } = {
		mass: massUnit(),
		pct: '%',
		testWeight: testWeightUnit(),
		length: lengthUnit(),
		spacing: spacingUnit(),
	};
	return units[shape];
}

/** Size of the shown unit in the library's own unit. */
const sizes: { [s in Shape]?: () => number } = { length: lengthSize_m, spacing: spacingSize_m };

/** A value as text to read. */
export function shownValue(key: string, shape: Shape | undefined, value: Value | undefined): string {
	if (value === null || value === undefined || value === '') return '–';
	switch (shape) {
		case 'mass':
			return mass(value as number);
		case 'pct':
			return `${number(value as number, 1)}%`;
		case 'testWeight':
			return `${number(fromKgHl(value as number), 1)} ${testWeightUnit()}`;
		case 'time':
			return whenExactly(value as number);
		case 'flag':
			return value === true ? t.yes : t.no;
		case 'combines':
			return (value as string[]).map(nameOfThing).join(' + ') || '–';
		case 'split':
			return Object.entries(value as Record<string, number>)
				.map(([id, share]) => `${nameOfThing(id)} ${number(100 * share, 0)}%`)
				.join(', ');
		case 'emptied':
			return value === 'yes' ? t.tankEmpty : t.tankNotEmpty;
		case 'how':
			return value === 'load' ? t.aLoad : t.aTotal;
		case 'basis':
			return value === 'wet' ? t.wet : t.dry;
		case 'load':
			return truckLabel(value as string);
		case 'combine':
		case 'cart':
		case 'truck':
		case 'destination':
		case 'field':
			return nameOfThing(value as string);
		case 'length':
		case 'spacing':
			return `${number((value as number) / sizes[shape]!(), 1)} ${unitOf(shape)}`;
		case 'year':
			return String(value);
		case 'monitor': {
			const m = value as { how: string; unit: string; basis: string };
			return t.monitorAs(m.how === 'load' ? t.aLoad : t.aTotal, m.unit, m.basis === 'wet' ? t.wet : t.dry);
		}
		case 'number':
			return number(value as number, Number.isInteger(value) ? 0 : 2);
		default:
			if (key === 'struck') return value === true ? t.struckOut : t.stands;
			if (shape === 'crop' && typeof value === 'object') return String((value as { name: string }).name);
			return typeof value === 'object' ? JSON.stringify(value) : String(value);
	}
}

/** A value as text in an input. */
export function writtenValue(shape: Shape, value: Value | undefined): string {
	if (value === null || value === undefined) return '';
	switch (shape) {
		case 'mass':
			return inBox(fromKg(value as number), 0);
		case 'testWeight':
			return inBox(fromKgHl(value as number), 1);
		case 'length':
		case 'spacing':
			return inBox((value as number) / sizes[shape]!(), 2);
		case 'pct':
		case 'number':
			return inBox(value as number, 6);
		case 'monitor':
			return JSON.stringify(value);
		case 'crop':
			return typeof value === 'string' ? value : JSON.stringify(value);
		case 'time':
			return localTime(value as number);
		case 'combines':
			return (value as string[]).join(' ');
		case 'split': {
			const [first] = Object.entries(value as Record<string, number>);
			return first ? `${first[0]} ${inBox(100 * first[1], 1)}` : '';
		}
		case 'flag':
			return value === true ? 'yes' : 'no';
		default:
			return String(value);
	}
}

/** The value of an input's text; undefined if it cannot be read. */
export function readValue(shape: Shape, text: string, before: Value | undefined): Value | undefined {
	// An unchanged value keeps all its digits, though it is shown with fewer.
	if (text === writtenValue(shape, before)) return before ?? null;
	if (text.trim() === '') return shape === 'combines' ? [] : shape === 'flag' ? false : null;
	const n = keyed(text);
	switch (shape) {
		case 'mass':
			return n === null ? undefined : toKg(n);
		case 'testWeight':
			return n === null ? undefined : toKgHl(n);
		case 'length':
		case 'spacing':
			return n === null ? undefined : n * sizes[shape]!();
		case 'year':
			return n === null || !Number.isInteger(n) || n < 1990 || n > 2100 ? undefined : n;
		case 'monitor':
			return JSON.parse(text) as Value;
		case 'crop':
			return text.startsWith('{') ? (JSON.parse(text) as Value) : text;
		case 'pct':
		case 'number':
			return n === null ? undefined : n;
		case 'time': {
			const at = new Date(text).getTime();
			return Number.isFinite(at) ? at / 1000 : undefined;
		}
		case 'combines':
			return text.split(' ');
		case 'split': {
			const [id = '', percent = ''] = text.split(' ');
			const share = keyed(percent);
			return share === null || share <= 0 || share > 100 ? undefined : { [id]: share / 100 };
		}
		case 'flag':
			return text === 'yes';
		default:
			return text.trim();
	}
}

/** For an input of type datetime-local: local time of the device. */
function localTime(time_s: number): string {
	const d = new Date(time_s * 1000);
	const two = (x: number) => String(x).padStart(2, '0');
	return `${d.getFullYear()}-${two(d.getMonth() + 1)}-${two(d.getDate())}T${two(d.getHours())}:${two(d.getMinutes())}:${two(d.getSeconds())}`;
}

/** The choices for a reference. */
export function optionsOf(shape: Shape): (readonly [string, string])[] {
	const list = (things: { id: string; v: { name: string } }[]) => things.map((x) => [x.id, x.v.name] as const);
	switch (shape) {
		case 'combine':
			return list(allCombines.value);
		case 'cart':
			return list(carts.value);
		case 'truck':
			return list(allTrucks.value);
		case 'destination':
			return list(destinations.value);
		case 'field':
			return list([...fields.value]);
		case 'load':
			return keptAll(book.value, 'load')
				.filter((l) => grain.value.loads.has(l.id))
				.map((l) => [l.id, truckLabel(l.id)] as const)
				.reverse();
		case 'crop':
			return CROPS.map((c) => [c.name, t.cropNames[c.name] ?? c.name] as const);
		case 'emptied':
			return [
				['yes', t.tankEmpty],
				['no', t.tankNotEmpty],
			];
		case 'how':
			return [
				['load', t.aLoad],
				['total', t.aTotal],
			];
		case 'unit':
			return ['lb', 'bu', 'kg', 't'].map((u) => [u, u] as const);
		case 'basis':
			return [
				['wet', t.wet],
				['dry', t.dry],
			];
		default:
			return [];
	}
}
