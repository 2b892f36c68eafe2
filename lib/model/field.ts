/** The content of field.json, checked, with every default filled in. Times are seconds since 1970, UTC. */
export interface FieldPlan {
	name: string;
	season: number | null;
	client: string | null;
	farm: string | null;
	crop: Crop;
	timeZone: string | null;
	boundary: string | null;
	/** GeoJSON polygons that carry a `variety` property, or null. */
	varieties: string | null;
	logs: LogPlan[];
	cartLog: TablePlan | null;
	cartTrace: TablePlan | null;
	tickets: TablePlan | null;
	combines: Record<string, CombinePlan>;
	scales: Record<string, ScalePlan>;
	events: FieldEvent[];
	pins: Pins;
	/** A known total of the whole field, wet, with its own uncertainty; null where none is given. */
	total: { wet_kg: number; u_rel: number } | null;
	/** Thresholds of flags set by the user, by flag word. */
	flags: Record<string, number>;
	/** Shrink per point and handling by destination: the buyer's rule, never mixed with dry weight. */
	destinations: Record<string, { shrink_pct_per_point: number; handling_pct: number }>;
	/** Who owns what part of the grain, percent by party; for the report's first page only. */
	shares?: Record<string, number>;
	/** What the intake recorded about the exports that this folder came from, as it is in field.json. */
	intake?: unknown;
	/** Unknown entries of field.json: carried through, not used. */
	extra?: Record<string, unknown>;
}

/** A crop and the terms it is sold by. */
export interface Crop {
	name: string;
	bushel_kg: number;
	market_moisture_pct: number;
}

/** A file of rows in field.json. */
export interface TablePlan {
	file: string;
	/** Column mapping; null = the contract's own names. */
	columns: Record<string, ColumnPlan> | null;
}

/** A log file in field.json. */
export interface LogPlan extends TablePlan {
	/** The combine of every row that names none itself. */
	combine: string | null;
}

/** Where a value is found: a column or a constant, with its unit. */
export interface ColumnPlan {
	column?: string;
	value?: number | string;
	unit?: string;
	since?: string;
	basis?: 'wet' | 'dry';
	at_pct?: number;
}

/** A combine in field.json; nulls are what was not given. */
export interface CombinePlan {
	swath_m: number | null;
	row_m: number | null;
	tank_kg: number | null;
	header_ahead_m: number | null;
	display_total: { area_ha: number | null; wet_kg: number | null } | null;
}

/** The cart's scale in field.json. */
export interface ScalePlan {
	/** How far the scale may be off, as rectangular limits, percent; null = not stated (5 is assumed). */
	limit_pct: number | null;
	/** What the cart holds; null = not known. */
	size_kg: number | null;
	/** Reading error u² = a² + (b·gross)²; nulls = defaults. */
	reading_a_kg: number | null;
	reading_b_rel: number | null;
}

/** Something that happened at a known time. */
export interface FieldEvent {
	time_s: number;
	combine: string | null;
	kind: 'calibrated' | 'header' | 'variety' | 'break' | 'other';
	note: string | null;
}

/** What the user has decided. The solver keeps to it and reports where the evidence disagrees. */
export interface Pins {
	clock_offset_s?: number;
	dumps?: Record<string, { combine?: string; status?: 'used' | 'joined' | 'aside'; reason?: string }>;
	factors?: Record<string, { form?: 'constant' | 'step' | 'trend' | 'flow'; value?: number }>;
	lags?: Record<string, number>;
	/** Where nothing was weighed: combines are leveled against each other at their seams; the common level is unknown. */
	level?: 'seams' | undefined;
}
