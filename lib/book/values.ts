import type { Crop } from '../model/index.ts';
import { cropNamed } from '../units/index.ts';
import type { Kind, Value } from './entries/entry.ts';
import type { Thing } from './entries/thing.ts';

/**
 * What each kind of thing holds. Masses are kilograms, moisture is percent wet basis, times are UTC seconds, `null` =
 * not entered. References to other things are their ids.
 */
export interface FieldValues {
	name: string;
	season: number | null;
	client: string | null;
	farm: string | null;
	/** A crop's name, or the crop's properties in full. */
	crop: string | Crop;
	timeZone: string | null;
	/** The operator's tolerance on a monitor's error, percent. */
	tolerance_pct: number;
	/** The landlord and the landlord's share, percent of the grain. */
	landlord: string | null;
	landlord_pct: number | null;
	/** Not being worked on now: kept, and shown after the others. */
	away: boolean;
}

/** How a combine's monitor shows its loads. */
export interface MonitorSetup {
	how: 'load' | 'total';
	unit: 'lb' | 'bu' | 'kg' | 't';
	basis: 'wet' | 'dry';
	/** With basis `dry`: the moisture at which it is stated. */
	at_pct: number | null;
}

/** A combine and how its monitor is set up. */
export interface CombineValues {
	name: string;
	/** Set when it is added; null = not entered. */
	monitor: MonitorSetup | null;
	tank_kg: number | null;
	swath_m: number | null;
	row_m: number | null;
	header_ahead_m: number | null;
	/** Not here today: not on the buttons; its rows stay. */
	away: boolean;
}

/** A grain cart and its scale. */
export interface CartValues {
	name: string;
	/** Capacity; null = not known. */
	size_kg: number | null;
	/** Limits of its scale's error; null = not entered (5 is assumed). */
	limit_pct: number | null;
}

/** A truck that takes loads. */
export interface TruckValues {
	name: string;
	/** Payload limit; null = not known. */
	room_kg: number | null;
	away: boolean;
}

/** Where tickets come from, with its shrink and handling rates. */
export interface DestinationValues {
	name: string;
	shrink_pct_per_point: number | null;
	handling_pct: number | null;
}

/** One truckload, from the first offload until it is weighed. */
export interface LoadValues {
	number: string;
	truck: string | null;
	destination: string | null;
	opened_s: number;
	closed: boolean;
}

interface WeighedValues {
	number: string;
	time_s: number;
	cart: string;
	/** The scale's running reading after it; the net follows from the reading before. */
	reading_kg: number | null;
	/** The net itself, where it was entered instead of the reading. */
	net_kg: number | null;
	moisture_pct: number | null;
	testWeight_kg_hl: number | null;
	note: string | null;
}

/** A combine dumped into the cart. */
export interface DumpValues extends WeighedValues {
	field: string;
	/** One, two for a weight of both, none where not noted. */
	combines: readonly string[];
	emptied: 'yes' | 'no' | null;
	variety: string | null;
	/** Grain of other fields in it: share (0…1) by field id; the rest belongs to `field`. */
	split: { readonly [field: string]: number } | null;
	/** Set aside by the operator: its weight counts in totals and is in no factor. */
	aside: boolean;
}

/** The cart offloaded onto a truck. */
export interface OffloadValues extends WeighedValues {
	load: string | null;
}

/** The scale was zeroed, or its reading was accepted as it was: no grain moved. */
export interface ZeroValues {
	time_s: number;
	cart: string;
	reading_kg: number;
	note: string | null;
}

/** A certified weight of one truckload. */
export interface TicketValues {
	number: string;
	time_s: number;
	load: string | null;
	net_kg: number | null;
	gross_kg: number | null;
	tare_kg: number | null;
	/** Combine that dumped directly into the truck, and the field the grain came from. */
	combine: string | null;
	field: string | null;
	moisture_pct: number | null;
	testWeight_kg_hl: number | null;
	destination: string | null;
	note: string | null;
}

/** What a monitor showed: for one load, or as a running total. */
export interface ReadingValues {
	time_s: number;
	combine: string;
	/** The dump after which it was read; null = between dumps. */
	dump: string | null;
	field: string | null;
	how: 'load' | 'total';
	value: number;
	unit: 'kg' | 't' | 'lb' | 'bu';
	basis: 'wet' | 'dry';
	/** With basis `dry`: the moisture at which it is stated. */
	at_pct: number | null;
	/** Moisture as the monitor showed it. */
	moisture_pct: number | null;
}

/** What happened to a combine, as the contract's events have it. */
export interface EventValues {
	time_s: number;
	combine: string | null;
	field: string | null;
	kind: 'calibrated' | 'header' | 'variety' | 'break' | 'other';
	note: string | null;
}

/** Values of a thing by its kind. */
export interface ValuesOf {
	field: FieldValues;
	combine: CombineValues;
	cart: CartValues;
	truck: TruckValues;
	destination: DestinationValues;
	load: LoadValues;
	dump: DumpValues;
	offload: OffloadValues;
	zero: ZeroValues;
	ticket: TicketValues;
	reading: ReadingValues;
	event: EventValues;
	mapping: { name: string; [key: string]: Value };
}

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

/**
 * The crop of a field's values; null where its name is not known or there is no field. Then there are weights but no
 * bushels.
 */
export function cropKnown(field: FieldValues | null): Crop | null {
	if (field === null) return null;
	const { crop } = field;
	// "Soybean" is soybeans, "oat" is oats.
	return typeof crop === 'string' ? (cropNamed(crop) ?? cropNamed(`${crop.trim()}s`)) : crop;
}

/** Name of a field's crop: its known name, or as it was typed; empty where there is no field. */
export function cropNameOf(field: FieldValues | null): string {
	const typed = field?.crop ?? '';
	return cropKnown(field)?.name ?? (typeof typed === 'string' ? typed : typed.name);
}

/** A ticket's net: as entered, or gross less tare; null where neither is there. */
export function ticketNet_kg(t: TicketValues): number | null {
	if (t.net_kg !== null) return t.net_kg;
	return t.gross_kg !== null && t.tare_kg !== null ? t.gross_kg - t.tare_kg : null;
}
