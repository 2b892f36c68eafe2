/** A thing read as a whole: every value of its kind, with defaults where nothing was entered. */
import type { Kind, Value } from './entries/entry.ts';
import type { Thing } from './entries/thing.ts';
import type { ValuesOf } from './values.ts';

const WEIGHED = {
	number: '',
	time_s: 0,
	cart: '',
	reading_kg: null,
	net_kg: null,
	moisture_pct: null,
	testWeight_kg_hl: null,
	note: null,
};

/** Defaults for values that an entry does not give. Every value is listed, so a thing can be read as a whole. */
const BLANK: { [K in Kind]: { [key: string]: Value } } = {
	field: {
		name: '',
		season: null,
		client: null,
		farm: null,
		crop: 'corn',
		timeZone: null,
		tolerance_pct: 2,
		landlord: null,
		landlord_pct: null,
		away: false,
	},
	combine: { name: '', monitor: null, tank_kg: null, swath_m: null, row_m: null, header_ahead_m: null, away: false },
	cart: { name: 'cart', size_kg: null, limit_pct: null },
	truck: { name: '', room_kg: null, away: false },
	destination: { name: '', shrink_pct_per_point: null, handling_pct: null },
	load: { number: '', truck: null, destination: null, opened_s: 0, closed: false },
	dump: {
		...WEIGHED,
		field: '',
		combines: [],
		emptied: null,
		variety: null,
		split: null,
		aside: false,
	},
	offload: { ...WEIGHED, load: null },
	zero: { time_s: 0, cart: '', reading_kg: 0, note: null },
	ticket: {
		number: '',
		time_s: 0,
		load: null,
		net_kg: null,
		gross_kg: null,
		tare_kg: null,
		combine: null,
		field: null,
		moisture_pct: null,
		testWeight_kg_hl: null,
		destination: null,
		note: null,
	},
	reading: {
		time_s: 0,
		combine: '',
		dump: null,
		field: null,
		how: 'load',
		value: 0,
		unit: 'lb',
		basis: 'wet',
		at_pct: null,
		moisture_pct: null,
	},
	event: { time_s: 0, combine: null, field: null, kind: 'other', note: null },
	mapping: { name: '' },
};

/** The names of a kind's values, in the order in which they are shown. */
export function keysOf(kind: Kind): string[] {
	return Object.keys(BLANK[kind]);
}

const whole = new WeakMap<Thing, object>();

/** A thing's values, with defaults where nothing was entered. Cached: do not modify. */
export function valuesOf<K extends Kind>(thing: Thing, kind: K): ValuesOf[K] {
	if (thing.kind !== kind) throw new TypeError(`"${thing.id}" is a ${thing.kind}, not a ${kind}.`);
	let values = whole.get(thing);
	if (!values) {
		values = { ...BLANK[kind], ...thing.values };
		whole.set(thing, values);
	}
	return values as ValuesOf[K];
}
