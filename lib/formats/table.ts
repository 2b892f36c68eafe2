import type { MultiPolygon, Polygon } from 'geojson';

/**
 * What every reader of a format gives: tables of columns as they stood in the file, nothing converted and nothing
 * guessed. What a column means is decided later (lib/intake), unless the format itself says so.
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
	 * Coordinate system of the position columns (or of `x`, `y` roles): EPSG code, or the text of a .prj. Undefined
	 * where the file does not say. Geometry of points comes as two columns, roles `x` and `y`; in degrees already
	 * where the format fixes WGS 84, then as `lon` and `lat`.
	 */
	crs?: number | string;
	/** What else the file says of the whole table, by these keys. */
	meta: RawMeta;
	/** Counters that the file itself keeps, to check sums against. */
	totals?: { wet_kg?: number; dry_kg?: number; area_m2?: number; time_s?: number; distance_m?: number };
	/** What the reader mended or could not read, in words of the user ("the last record is cut off: 4,211 read"). */
	notes: string[];
}

/** Format that a table was read from. */
export type RawKind = 'text' | 'shapefile' | 'taskdata' | 'geopackage' | 'geojson' | 'kml' | 'gpx' | 'spreadsheet';

/** What a format itself says of a table. */
export interface RawMeta {
	/** The machine, as the format names it. */
	device?: string;
	task?: string;
	field?: string;
	/** Key shared by a table and the boundary of its field, where the format links them. */
	fieldId?: string;
	client?: string;
	farm?: string;
	crop?: string;
	season?: string;
	/** Sheet of a workbook, layer of a database, track of a GPX. */
	layer?: string;
	/** Times hold UTC (GPX, ISO 11783 positions), local time or a zone by name. */
	timeZone?: string;
	/** Offset of the time column to UTC is not known but one: e.g. GPS seconds without leap seconds. */
	timeScale?: 'utc' | 'local' | 'gps';
	/** What else the file states of machine and driver, for people to see: header sections, widths, capacity. */
	details?: Record<string, string | number>;
}

/** One column: numbers (NaN where missing) or text ('' where missing), never both. */
export interface RawColumn {
	name: string;
	numbers?: Float64Array;
	text?: string[];
	/** Unit as the file states it ("kg/s", "lb/s", "ft"), untouched. */
	unit?: string;
	/** Long name or description as the file states it. */
	title?: string;
	/** The role, where the format itself states it (ISO 11783-11 entries, geometry): see Role. */
	as?: Role;
	/** `as` and `unit` are stated by a standard, no guess needed. */
	certain?: boolean;
	/** Wet or dry, where the format states it. */
	basis?: 'wet' | 'dry';
	/** Cells of a column of numbers that hold something else: row from 0, and what stands there. */
	odd?: { row: number; found: string }[];
	/** What the file's own row of totals says for this column. */
	total?: number;
	/** Seconds since this moment (ISO 8601) if the column is time and the format says so. */
	since?: string;
}

/**
 * What a column can be. The first group are a log's; `start` is a date with the beginning of a run, `duration` and
 * `interval` are one thing; `x`, `y` are projected or local coordinates; `clock` is a time of day beside a `date`.
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

/** An area that a file draws, WGS 84 (RFC 7946), rings as they stood. */
export interface RawBoundary {
	file: string;
	kind: RawKind;
	name?: string;
	fieldId?: string;
	geometry: Polygon | MultiPolygon;
	properties: Record<string, string | number | null>;
	notes: string[];
}

/** One file met (a zip's entries count one by one; the parts of a shapefile are listed under their .shp). */
export interface RawFile {
	file: string;
	bytes: number;
	/** SHA-256 of the bytes, hex. */
	sha256: string;
	/** What it is; null where no reader knows it. */
	kind: RawKind | 'zip' | null;
	/** Why nothing was read from it, and what would help; null where something was. */
	why: string | null;
}

/** Everything that was read from what was given. */
export interface RawSet {
	files: RawFile[];
	tables: RawTable[];
	boundaries: RawBoundary[];
}
