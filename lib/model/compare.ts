/** Two or more combines side by side in one field. */
export interface Comparison {
	/** One per combine that cut anything, in the order of `Records.combines`. */
	combines: ComparedCombine[];
	/** One per pair of combines. */
	pairs: ComparedPair[];
	/** How to run a fair test, and what limits this one. */
	advice: string[];
}

/** What one combine did. NaN = not known. */
export interface ComparedCombine {
	combine: number;
	name: string;
	factor: number;
	factor_interval: [number, number];
	lag_s: number;
	u_lag_s: number;
	area_ha: number;
	/** Corrected where there is a factor, else as accounted; wet. */
	mass_kg: number;
	/** From the first to the last record, excluding nights and long breaks. */
	worked_s: number;
	area_ha_h: number;
	mass_t_h: number;
	time: ComparedTime;
	/** Mean ground speed and moisture while cutting. */
	speed_m_s: number;
	moisture_pct: number;
	/** Dry, at market moisture, over all its ground. */
	yield_kg_ha: number;
}

/** Seconds by what the combine did; they add up to `worked_s`. */
export interface ComparedTime {
	cutting_s: number;
	turning_s: number;
	/** Standing or driving outside the crop with the auger running; on the go it is cutting. */
	dumping_s: number;
	/** Standing with a full tank: waiting for the cart. */
	waiting_s: number;
	standing_s: number;
	/** Of the cutting: with the auger running. */
	onTheGo_s: number;
}

/** Two combines side by side; combines by index. */
export interface ComparedPair {
	combineA: number;
	combineB: number;
	/** What was compared, one row each. */
	rows: ComparedRow[];
	remarks: string[];
}

/** One compared quantity with its difference, interval and verdict. */
export interface ComparedRow {
	what:
		| 'factor'
		| 'seam_before'
		| 'seam_after'
		| 'lag'
		| 'area_rate'
		| 'mass_rate'
		| 'cutting'
		| 'turning'
		| 'dumping'
		| 'waiting'
		| 'standing'
		| 'scale_weight'
		| 'speed'
		| 'moisture'
		| 'yield';
	/** In words, as on the page. */
	label: string;
	unit: '' | '%' | 's' | 'ha/h' | 't/h' | 'kg/ha' | 'm/s' | '% of time';
	/** Measured on ground that both cut side by side. */
	shared: boolean;
	a: number;
	b: number;
	/** a − b in `unit`; for the seam rows the jump itself. */
	difference: number;
	/** 95 %. */
	interval: [number, number];
	/** True where the 95 % interval excludes zero (one, for ratios); null where there is no interval. */
	certain: boolean | null;
	verdict: string;
}
