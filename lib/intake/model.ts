import type { RawColumn, RawTable, Role } from '../formats/index.ts';
import type { Crop } from '../model/index.ts';

/** What a source is used as. */
/** What a source can be; `none`: left out. */
export const USES = ['log', 'cart', 'tickets', 'trace', 'boundary', 'varieties', 'none'] as const;
/** What a source can be used as. */
export type Use = (typeof USES)[number];

/** What one column was read as, and why. */
export interface ColumnReading {
	column: string;
	/** null: not used (carried nowhere). */
	as: Role | null;
	unit: string | null;
	/** Wet or dry for a yield, with the moisture it is stated at. */
	basis?: 'wet' | 'dry';
	at_pct?: number;
	sure: number;
	because: string[];
}

/** Something that no file says. `about` begins with one of the contract's words. */
export interface Question {
	about: string;
	text: string;
	choices: string[];
	blocking: boolean;
	/** What is taken until it is answered; null: nothing can be. */
	taken: string | null;
	/** The file that it is asked of; null for one about the field. */
	file: string | null;
}

/** What a user has answered, by `about`. */
export type Given = Record<string, unknown>;

/** A row that is not used. */
export interface LeftOut {
	file: string;
	row: number | null;
	column: string | null;
	found: string;
	why: string;
}

/** A log as understood: columns in the library's own units, in the table's order. NaN and '' are missing. */
export interface LogRows {
	table: RawTable;
	n: number;
	/** Seconds since 1970 UTC at the end of each record; NaN where unknown. */
	time_s: Float64Array;
	lat_deg: Float64Array;
	lon_deg: Float64Array;
	/** Meters in one plane, for motion. */
	x_m: Float64Array;
	y_m: Float64Array;
	flow_kg_s: Float64Array;
	interval_s: Float64Array;
	distance_m: Float64Array;
	swath_m: Float64Array;
	moisture_pct: Float64Array;
	speed_m_s: Float64Array;
	heading_deg: Float64Array;
	elevation_m: Float64Array;
	header: Int8Array;
	auger: Int8Array;
	variety: string[] | null;
	load: string[] | null;
	combine: string[] | null;
	field: string[] | null;
	/** 1: the row is a record. */
	keep: Uint8Array;
	/** True where no time of day is known: times count from an arbitrary start. */
	timeless: boolean;
	/** Crop that the file names. */
	crop: { crop: Crop; because: string } | null;
	zone: string | null;
}

/** A table with what it was understood to be. */
export interface Understood {
	table: RawTable;
	signature: string;
	use: Use;
	why: string;
	columns: ColumnReading[];
	questions: Question[];
	notes: string[];
	leftOut: LeftOut[];
	log: LogRows | null;
	/** Roles found, for tables of loads. */
	roles: Map<Role, RawColumn>;
}

/** What the user says with the call. */
export interface IntakeOptions {
	crop?: string;
	timeZone?: string;
	/** By file, header signature, folder or `*`. */
	answers?: Record<string, Given>;
}
