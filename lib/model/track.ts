import type { MultiPolygon, Polygon } from 'geojson';
import type { Note } from './fault.ts';

/** Why a record is kept out of the map: one word each, index = code in `Track.flag`; 0 is none. */
export const FLAGS = [
	'', // 0: kept
	'raised', // header up
	'standing', // not moving, or crawling
	'turning', // no steady heading
	'jolt', // sudden change of speed
	'filling', // start of a pass: the flow is still building up
	'emptying', // end of a pass: the flow is running out
	'flowless', // no flow, or a missing flow or interval
	'surge', // impossible flow: a spike
	'dropout', // the sensor lost the flow for a moment
	'moisture', // impossible or missing moisture
	'jump', // the position jumps, repeats or is missing
	'outside', // outside the boundary
	'recut', // ground already cut
	'narrow', // too little new width to carry a yield
	'unplaced', // cut before the log begins or where no position is known
	'lone', // a value that neighboring passes do not support
] as const;
/** One of `FLAGS`. */
export type Flag = (typeof FLAGS)[number];

/** Code of a flag's word, for writing into `Track.flag`. */
export const flagCode = Object.fromEntries(FLAGS.map((f, i) => [f, i])) as Record<Flag, number>;

/** The UTM zone of a field. */
export interface Zone {
	number: number;
	south: boolean;
	/** 326xx north, 327xx south. */
	epsg: number;
}

/** One run with the header down and a steady heading. `records` are indices in order of time. */
export interface Pass {
	/** Number of the pass, unique in the field; its place in `Track.passes`. */
	id: number;
	combine: number;
	records: Int32Array;
	start_s: number;
	end_s: number;
	/** Clockwise from grid north, radians. */
	heading_rad: number;
	length_m: number;
	/** Mean ground speed. */
	speed_m_s: number;
}

/** Seconds from header to flow sensor: the mean delay, smear included. */
export interface Lag {
	combine: number;
	lag_s: number;
	u_s: number;
	source: 'estimated' | 'assumed' | 'pinned';
	/** Lag of the moisture sensor; NaN where not found (the flow's lag is used). */
	moistureLag_s: number;
	/** Time constant of a first-order smear, seconds; NaN where not found. */
	smear_s: number;
}

/** Positions, passes and ground of all records: one value per record in each column (8 in `corners_m`). Meters are UTM. */
export interface Track {
	zone: Zone;
	/** Antenna at the record's time. NaN where the position is unusable. */
	x_m: Float64Array;
	y_m: Float64Array;
	speed_m_s: Float64Array;
	heading_rad: Float64Array;
	/** Pass in which the record's grain was cut, −1 where none. */
	pass: Int32Array;
	passes: Pass[];
	/** One per combine, in the order of `Records.combines`. */
	lags: Lag[];
	/** Middle of the ground on which the record's grain was cut, on the swath's center line. NaN where none. */
	cutX_m: Float64Array;
	cutY_m: Float64Array;
	/** Ground newly cut there: rear-left, front-left, front-right, rear-right as x, y pairs. NaN where none. */
	corners_m: Float64Array;
	/** Mean width newly cut. */
	width_m: Float64Array;
	/**
	 * Ground newly cut whose grain the record holds, the sensor's smear included, m² on the ellipsoid (grid area divided by
	 * the squared scale factor).
	 */
	area_m2: Float64Array;
	/** Codes of FLAGS, mechanical ones only; the map adds `lone`. */
	flag: Uint8Array;
	/** Moisture of the grain in the record, the moisture sensor's lag applied, no offset. NaN where none. */
	moisture_pct: Float64Array;
	/** Constant sideways offset of each combine's receiver relative to the first combine's, positive to the right, meters. */
	receiverOffset_m: number[];
	/** How uncertain each combine's header width is where pass spacing contradicts it, relative; one uncertain, its neighbor too, the other way. */
	width_u_rel?: number[];
	/** Area of the field three ways. `boundary_m2` is NaN without one. */
	areas: { cut_m2: number; distanceTimesSwath_m2: number; boundary_m2: number };
	/** The outline in use (the boundary, or the harvested outline), WGS 84 rings. */
	outline: MultiPolygon | Polygon | null;
	/** The value of each flag threshold, for the report. */
	thresholds: Record<string, number>;
	/** Remarks for the reader: a boundary not used, a lag assumed, a header state inferred. */
	remarks?: Note[];
}
