/** The line where two neighboring passes meet: pairs of places on both sides. */
export interface Seam {
	/** Passes on both sides (indices into Track.passes); `left` and `right` as combines cut. */
	passA: number;
	passB: number;
	combineA: number;
	combineB: number;
	length_m: number;
	/** Middle line, UTM x, y pairs. */
	line_m: Float64Array;
	/** Not compared: a variety changes here, or planter halves. */
	excluded: string | null;
}

/** Jump over all seams between two combines: 100 × (first / second − 1). */
export interface SeamJump {
	combineA: number;
	combineB: number;
	before_pct: number;
	before_interval: [number, number];
	after_pct: number;
	after_interval: [number, number];
	/** Moisture as sensed by the first less the second, points. */
	moisture_diff_pct: number;
	length_m: number;
	/** Log jump, standard uncertainty and degrees of freedom, for the factor room. */
	log_jump: number;
	u_log: number;
	df: number;
	/** Blocks the estimate rests on: one dot each in the plot. */
	blocks: { x_m: number; y_m: number; log_jump: number; u_log: number; length_m: number; seam: number }[];
	remarks: string[];
}
