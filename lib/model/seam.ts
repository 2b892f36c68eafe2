/** The line where two neighboring passes meet. */
export interface Seam {
	/** The passes on both sides (indices into Track.passes). */
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

/** Difference of two combines' yields over all seams between them, percent: 100 × (first / second − 1). */
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
	/** The jump as recorded as a natural log ratio, its standard uncertainty and degrees of freedom, for the factors. */
	log_jump: number;
	u_log: number;
	df: number;
	/** Blocks of seam that the estimate is made from. */
	blocks: { x_m: number; y_m: number; log_jump: number; u_log: number; length_m: number; seam: number }[];
	remarks: string[];
}
