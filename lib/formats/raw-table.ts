import type { MultiPolygon, Polygon } from 'geojson';

/**
 * Output of every reader: tables of columns as they are in the file, nothing converted and nothing guessed. The
 * meaning of a column is decided later (lib/intake), unless the format itself defines it.
 */
export interface RawTable {
	/** Where it came from, with forward slashes: "north.zip/north.shp", "season.gpkg/yield". */
	file: string;
	kind: RawKind;
	/** Rows. */
	n: number;
	columns: RawColumn[];
	/** The file's line or record of each row, the header being 1; absent: row + 2. */
	lines?: Int32Array;
	/**
	 * Coordinate system of the position columns (or of `x`, `y` roles): EPSG code, or the text of a .prj. Undefined if
	 * the file gives none. Geometry of points becomes two columns, roles `x` and `y`; if the format fixes WGS 84
	 * degrees, roles `lon` and `lat`.
	 */
	crs?: number | string;
	/** Other facts in the file about the whole table, by these keys. */
	meta: RawMeta;
	/** Counters in the file itself, to check sums against. */
	totals?: { wet_kg?: number; area_m2?: number };
	/** What the reader repaired or could not read, in the user's words ("the last record is cut off: 4,211 read"). */
	notes: string[];
}

/** Format that a table was read from. */
export type RawKind = 'text' | 'shapefile' | 'taskdata' | 'geopackage' | 'geojson' | 'kml' | 'gpx' | 'spreadsheet';

/** Facts that a format gives about a table. */
export interface RawMeta {
	/** The machine's name in the file. */
	device?: string;
	task?: string;
	field?: string;
	/** Key shared by a table and its field's boundary, if the format links them. */
	fieldId?: string;
	client?: string;
	farm?: string;
	crop?: string;
	season?: string;
	/** Sheet of a workbook, layer of a database, track of a GPX. */
	layer?: string;
	/** Whether times are UTC (GPX, ISO 11783 positions), local time or in a named zone. */
	timeZone?: string;
	/** The time column has one constant but unknown offset from UTC: GPS seconds without leap seconds, for example. */
	timeScale?: 'utc' | 'local' | 'gps';
}

/** One column: numbers (NaN if missing) or text ('' if missing), never both. */
export interface RawColumn {
	name: string;
	numbers?: Float64Array;
	text?: string[];
	/** Unit as given in the file ("kg/s", "lb/s", "ft"), unchanged. */
	unit?: string;
	/** Long name or description as given in the file. */
	title?: string;
	/** The role, if the format itself gives it (ISO 11783-11 entries, geometry): see Role. */
	as?: Role;
	/** A standard defines `as` and `unit`, so no guess is needed. */
	certain?: boolean;
	/** Wet or dry, if the format gives it. */
	basis?: 'wet' | 'dry';
	/** Cells of a numeric column that are not numbers: row from 0, and the text. */
	odd?: { row: number; found: string }[];
	/** The column counts seconds since this time (ISO 8601). */
	since?: string;
}

/** Cells of a column as text; '' where missing. */
export const cellsOf = ({ text, numbers = new Float64Array() }: RawColumn): string[] =>
	text ?? Array.from(numbers, (x) => (Number.isNaN(x) ? '' : String(x)));

/** The file's line or record of a row. */
export const lineOf = ({ lines }: RawTable, row: number): number => lines?.[row] ?? row + 2;

/**
 * Roles of a column. The first group are a log's; `start` is a date with the beginning of a run, `duration` and
 * `interval` are one quantity; `x`, `y` are projected or local coordinates; `clock` is a time of day beside a `date`.
 */
export type Role =
	| 'time'
	| 'date'
	| 'clock'
	| 'start'
	| 'lat'
	| 'lon'
	| 'x'
	| 'y'
	| 'flow'
	| 'yield'
	| 'mass'
	| 'interval'
	| 'distance'
	| 'area'
	| 'swath'
	| 'moisture'
	| 'combine'
	| 'section'
	| 'header'
	| 'auger'
	| 'speed'
	| 'heading'
	| 'elevation'
	| 'variety'
	| 'load'
	| 'field'
	| 'crop'
	| 'pass'
	| 'record'
	| 'mass_total'
	| 'area_total'
	| 'id'
	| 'event'
	| 'weight'
	| 'gross'
	| 'tare'
	| 'emptied'
	| 'truck_load'
	| 'ticket'
	| 'scale'
	| 'destination'
	| 'test_weight'
	| 'note';

/** An area drawn in a file, WGS 84 (RFC 7946), rings unchanged. */
export interface RawBoundary {
	file: string;
	kind: RawKind;
	name?: string;
	fieldId?: string;
	geometry: Polygon | MultiPolygon;
	properties: Record<string, string | number | null>;
	notes: string[];
}

/** One file (a zip's entries are listed one by one; the parts of a shapefile are listed under their .shp). */
export interface RawFile {
	file: string;
	bytes: number;
	/** SHA-256 of the bytes, hex. */
	sha256: string;
	/** Its format; null if no reader recognizes it. */
	kind: RawKind | 'zip' | null;
	/** Why nothing was read from it, and what would help; null if something was. */
	why: string | null;
}

/** Everything read from the given sources. */
export interface RawSet {
	files: RawFile[];
	tables: RawTable[];
	boundaries: RawBoundary[];
}
