import type { Feature, MultiPolygon } from 'geojson';

/** Yields at market moisture, one value per record. NaN where the record has no area or no mass. */
export interface Yields {
	/** The same record on the same ground, without factor or moisture offset. */
	monitor_kg_ha: Float64Array;
	corrected_kg_ha: Float64Array;
	/** Corrected grain of every record at market moisture, flagged or not, with ground or without; 0 where none. */
	dry_kg: Float64Array;
	/** Relative standard uncertainty of the corrected yield. */
	u_rel: Float64Array;
	/**
	 * The part of `u_rel` that many records share (factor and moisture): it does not average out in a grid cell.
	 * One value per record.
	 */
	common_rel?: Float64Array;
	/** Moisture with its combine's offset applied. */
	moisture_pct: Float64Array;
	/** All flags, `lone` included. */
	flag: Uint8Array;
}

/** Cells along the axes of a UTM zone. Row 0 is the northernmost; corners are whole multiples of the cell's side. */
export interface Frame {
	/** North-west corner. */
	west_m: number;
	north_m: number;
	cell_m: number;
	columns: number;
	rows: number;
}

/** The grid of the field. NaN = no support. */
export interface Surface extends Frame {
	epsg: number;
	yield_kg_ha: Float32Array;
	se_kg_ha: Float32Array;
	/** The part of `se_kg_ha` that neighboring cells share: factor and moisture. It is also the difference's. */
	common_kg_ha?: Float32Array;
	/** The same cells from monitor yields; for the difference. */
	monitor_kg_ha: Float32Array;
	/** How yields vary in the field, estimated from neighboring passes; null where too few records are on the map. */
	spread: ErrorModel | null;
	/** Share of cells (0…1) whose change by correction exceeds twice its uncertainty; NaN without cells. */
	changedShare?: number;
	/** Mass and area of the map against the field's totals, percent. */
	closure: { mass_pct: number; area_pct: number };
	/** Reduction of the mismatch between neighboring passes by undoing the smear, percent; 0 = not undone. */
	deblur_gain_pct: number;
}

/** Bands of corrected yield, from the lowest up. */
export type Contours = Feature<MultiPolygon, { from_kg_ha: number; to_kg_ha: number }>[];

/**
 * Covariance model of segments' yields, relative to the field's mean yield:
 *
 * - the crop: sill² · exp(−h / range), averaged over both segments' ground
 * - white: an independent error of each record, white² / records in the segment
 * - pass: a constant error of each pass (a receiver off to the side, a header not full)
 * - slow: an error of a combine that is correlated over tens of minutes, slow² · exp(−|Δt| / 20 min)
 */
export interface ErrorModel {
	sill: number;
	range_m: number;
	white: number;
	pass: number;
	slow: number;
}
