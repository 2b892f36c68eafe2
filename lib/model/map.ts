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

/** A grid along the axes of the field's UTM zone; row 0 is the northernmost. NaN = no support. */
export interface Surface {
	epsg: number;
	/** North-west corner. */
	west_m: number;
	north_m: number;
	cell_m: number;
	columns: number;
	rows: number;
	yield_kg_ha: Float32Array;
	se_kg_ha: Float32Array;
	/** The part of `se_kg_ha` that neighboring cells share: factor and moisture. It is also the difference's. */
	common_kg_ha?: Float32Array;
	/** The same cells from monitor yields; for the difference. */
	monitor_kg_ha: Float32Array;
	/** How yields vary in the field, estimated from neighboring passes; null where too few records are on the map. */
	spread: Spread | null;
	/** Share of cells (0…1) whose change by correction exceeds twice its uncertainty; NaN without cells. */
	changedShare?: number;
	/** Mass and area of the map against the field's totals, percent. */
	closure: { mass_pct: number; area_pct: number };
	/** Reduction of the mismatch between neighboring passes by undoing the smear, percent; 0 = not undone. */
	deblur_gain_pct: number;
	contours: Feature<MultiPolygon, { from_kg_ha: number; to_kg_ha: number }>[];
}

/** The error model of yields: standard deviations relative to the field's mean. */
export interface Spread {
	/** Crop variation, with correlation exp(−distance / range_m). */
	sill: number;
	range_m: number;
	/** Independent errors of each record, each pass, and each combine's slow drift. */
	white: number;
	pass: number;
	slow: number;
}
