import type { Crop } from '../model/index.ts';
import { cropNamed } from '../units/index.ts';
import type { Value } from './entries/entry.ts';

/** How a combine's monitor shows its loads. */
export interface MonitorSetup {
	how: 'load' | 'total';
	unit: 'lb' | 'bu' | 'kg' | 't';
	basis: 'wet' | 'dry';
	/** With basis `dry`: the moisture at which it is stated. */
	at_pct: number | null;
}

/** A value that may not have been entered. */
const maybe = <T>(): T | null => null;

const WEIGHED = {
	number: '',
	time_s: 0,
	cart: '',
	/** The scale's running reading after it; the net follows from the reading before. */
	reading_kg: maybe<number>(),
	/** The net itself, where it was entered instead of the reading. */
	net_kg: maybe<number>(),
	moisture_pct: maybe<number>(),
	testWeight_kg_hl: maybe<number>(),
	note: maybe<string>(),
};

/**
 * What each kind of thing holds, with the defaults for values that no entry gives. Masses are kilograms, moisture is
 * percent wet basis, times are UTC seconds, `null` = not entered. References to other things are their ids.
 */
export const BLANK = {
	field: {
		name: '',
		season: maybe<number>(),
		client: maybe<string>(),
		farm: maybe<string>(),
		/** A crop's name, or the crop's properties in full. */
		crop: 'corn' as string | Crop,
		timeZone: maybe<string>(),
		/** The operator's tolerance on a monitor's error, percent. */
		tolerance_pct: 2,
		/** The landlord and the landlord's share, percent of the grain. */
		landlord: maybe<string>(),
		landlord_pct: maybe<number>(),
		/** Not being worked on now: kept, and shown after the others. */
		away: false,
	},
	combine: {
		name: '',
		/** Set when it is added. */
		monitor: maybe<MonitorSetup>(),
		tank_kg: maybe<number>(),
		swath_m: maybe<number>(),
		row_m: maybe<number>(),
		header_ahead_m: maybe<number>(),
		/** Not here today: not on the buttons; its rows stay. */
		away: false,
	},
	/** `size_kg`: its capacity; `limit_pct`: limits of its scale's error (5 is assumed). */
	cart: { name: 'cart', size_kg: maybe<number>(), limit_pct: maybe<number>() },
	/** `room_kg`: its payload limit. */
	truck: { name: '', room_kg: maybe<number>(), away: false },
	/** Where tickets come from, with its shrink and handling rates. */
	destination: { name: '', shrink_pct_per_point: maybe<number>(), handling_pct: maybe<number>() },
	/** One truckload, from the first offload until it is weighed. */
	load: { number: '', truck: maybe<string>(), destination: maybe<string>(), opened_s: 0, closed: false },
	/** A combine dumped into the cart. */
	dump: {
		...WEIGHED,
		field: '',
		/** One, two for a weight of both, none where not noted. */
		combines: [] as readonly string[],
		emptied: maybe<'yes' | 'no'>(),
		variety: maybe<string>(),
		/** Grain of other fields in it: share (0…1) by field id; the rest belongs to `field`. */
		split: maybe<{ readonly [field: string]: number }>(),
		/** Set aside by the operator: its weight counts in totals and is in no factor. */
		aside: false,
	},
	/** The cart offloaded onto a truck. */
	offload: { ...WEIGHED, load: maybe<string>() },
	/** The scale was zeroed, or its reading was accepted as it was: no grain moved. */
	zero: { time_s: 0, cart: '', reading_kg: 0, note: maybe<string>() },
	/** A certified weight of one truckload. */
	ticket: {
		number: '',
		time_s: 0,
		load: maybe<string>(),
		net_kg: maybe<number>(),
		gross_kg: maybe<number>(),
		tare_kg: maybe<number>(),
		/** Combine that dumped directly into the truck, and the field the grain came from. */
		combine: maybe<string>(),
		field: maybe<string>(),
		moisture_pct: maybe<number>(),
		testWeight_kg_hl: maybe<number>(),
		destination: maybe<string>(),
		note: maybe<string>(),
	},
	/** What a monitor showed: for one load, or as a running total. */
	reading: {
		time_s: 0,
		combine: '',
		/** The dump after which it was read; null = between dumps. */
		dump: maybe<string>(),
		field: maybe<string>(),
		how: 'load' as MonitorSetup['how'],
		value: 0,
		unit: 'lb' as MonitorSetup['unit'],
		basis: 'wet' as MonitorSetup['basis'],
		/** With basis `dry`: the moisture at which it is stated. */
		at_pct: maybe<number>(),
		/** Moisture as the monitor showed it. */
		moisture_pct: maybe<number>(),
	},
	/** What happened to a combine, as the contract's events have it. */
	event: {
		time_s: 0,
		combine: maybe<string>(),
		field: maybe<string>(),
		kind: 'other' as 'calibrated' | 'header' | 'variety' | 'break' | 'other',
		note: maybe<string>(),
	},
	mapping: { name: '' } as { name: string; [key: string]: Value },
};

/** Values of a thing by its kind; do not modify. */
export type ValuesOf = typeof BLANK;

/**
 * The crop of a field's values; null where its name is not known or there is no field. Then there are weights but no
 * bushels.
 */
export function cropKnown(field: ValuesOf['field'] | null): Crop | null {
	if (field === null) return null;
	const { crop } = field;
	// "Soybean" is soybeans, "oat" is oats.
	return typeof crop === 'string' ? (cropNamed(crop) ?? cropNamed(`${crop.trim()}s`)) : crop;
}

/** Name of a field's crop: its known name, or as it was typed; empty where there is no field. */
export function cropNameOf(field: ValuesOf['field'] | null): string {
	const typed = field?.crop ?? '';
	return cropKnown(field)?.name ?? (typeof typed === 'string' ? typed : typed.name);
}

/** A ticket's net: as entered, or gross less tare; null where neither is there. */
export function ticketNet_kg(t: ValuesOf['ticket']): number | null {
	if (t.net_kg !== null) return t.net_kg;
	return t.gross_kg !== null && t.tare_kg !== null ? t.gross_kg - t.tare_kg : null;
}
