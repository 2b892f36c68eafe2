import type { Feature, MultiPolygon } from 'geojson';

/** Yields at market moisture, one value a record. NaN where the record has no area or no mass. */
export interface Yields {
	/** Same record, same ground, without factor or moisture offset. */
	monitor_kg_ha: Float64Array;
	corrected_kg_ha: Float64Array;
	/** Corrected grain of every record at market moisture, flagged or not, with ground or without; 0 where none. */
	dry_kg?: Float64Array;
	/** Relative standard uncertainty of the corrected yield. */
	u_rel: Float64Array;
	/**
	 * The part of `u_rel` that many records share (factor and moisture): it does not average out in a grid cell.
	 * One value a record.
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
	/** How the field's yields vary, as learned from its neighbors; null where too little was kept to tell. */
	spread: Spread | null;
	/** Share of cells (0…1) whose change by correction exceeds twice its uncertainty; NaN without cells. */
	changedShare?: number;
	/** Mass and area of the map against the field's totals, percent. */
	closure: { mass_pct: number; area_pct: number };
	/** What undoing the smear gained (0 = left alone), percent of the neighbor mismatch. */
	deblur_gain_pct: number;
	contours: Feature<MultiPolygon, { from_kg_ha: number; to_kg_ha: number }>[];
}

/** How yields vary together, standard deviations relative to the field's mean. */
export interface Spread {
	/** The crop: alike over `range_m`, by exp(−distance / range). */
	sill: number;
	range_m: number;
	/** What each record, each pass and each combine's slow drift err by on their own. */
	white: number;
	pass: number;
	slow: number;
}
