import type { Crop } from '../model/index.ts';
import { cropNamed } from '../units/index.ts';
import type { Value } from './entries/entry.ts';

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
