import type { RawTable, Role } from '../formats/index.ts';
import type { Crop, SetAside } from '../model/index.ts';

/** What a source can be; `none`: left out. */
export const USES = ['log', 'cart', 'tickets', 'trace', 'boundary', 'varieties', 'none'] as const;
/** What a source can be used as. */
export type Use = (typeof USES)[number];

/** What one column was read as, and why. */
export interface ColumnReading {
	column: string;
	/** null: not used. */
	as: Role | null;
	unit: string | null;
	/** Wet or dry for a yield, with the moisture it is stated at. */
	basis?: 'wet' | 'dry';
	at_pct?: number;
	sure: number;
	because: string[];
}

/** A question that no file answers. `about` begins with one of the contract's words. */
export interface Question {
	about: string;
	text: string;
	choices: string[];
	blocking: boolean;
	/** The value assumed until it is answered; null: none. */
	taken: string | null;
	/** The file that it is about; null for a question about the field. */
	file: string | null;
}

/** A question about a file, by default one without choices that does not block. `taken`: what is assumed until it is answered. */
export const question = (
	file: string | null,
	{ choices = [], blocking = false, ...asked }: Omit<Question, 'file' | 'choices' | 'blocking'> & Partial<Question>,
): Question => ({ about: asked.about, text: asked.text, choices, blocking, taken: asked.taken, file });

/** What a user has answered, by `about`. */
export type Given = Record<string, unknown>;

/** A log after reading: columns in the library's own units, in the table's order. NaN and '' are missing. */
export interface LogRows {
	table: RawTable;
	n: number;
	/** Seconds since 1970 UTC at the end of each record; NaN where unknown. */
	time_s: Float64Array;
	lat_deg: Float64Array;
	lon_deg: Float64Array;
	/** Meters in one plane, to analyze motion. */
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
	/** True if no time of day is known: times count from an arbitrary start. */
	timeless: boolean;
	/** Crop named in the file. */
	crop: { crop: Crop; because: string } | null;
	zone: string | null;
}

/** Options of the call. */
export interface IntakeOptions {
	crop?: string;
	timeZone?: string;
	/** By file, header signature, folder or `*`. */
	answers?: Record<string, Given>;
}

/** intake.json. */
export interface IntakeReport {
	schema: 'steelyard.intake/1';
	sources: SourceReport[];
	fields: FieldReport[];
	set_aside: SetAside[];
	/** Files written to disk: paths from the root. */
	files?: { file: string; bytes: number; sha256: string }[];
}

/** A source in intake.json: what it was read as, column by column. */
export interface SourceReport {
	file: string;
	bytes: number;
	sha256: string;
	kind: string | null;
	use: Use;
	why: string;
	/** Key under which answers about files of this layout are kept. */
	signature: string | null;
	columns: ColumnReading[];
	notes: string[];
	questions: Question[];
}

/** A field in intake.json. */
export interface FieldReport {
	folder: string;
	name: string;
	crop: string | null;
	crop_because: string | null;
	boundary: boolean;
	because: string;
	combines: {
		name: string;
		records: number;
		start: string | null;
		end: string | null;
		monitor_kg: number;
		area_ha: number;
		sources: string[];
	}[];
	dumps: number;
	tickets: number;
	notes: string[];
	questions: Question[];
}
