/**
 * How monitors, carts, scales, tanks, clocks and people err: every such number once, with its unit and where it comes from.
 * "Common practice" means that no source is known. The estimators use these, and the documentation quotes them.
 */

/** The combine's yield monitor. */
export const MONITOR = {
	/** Its factor before anything is known: standard deviation about 1. Poorly calibrated ones are within about 10 % (Iowa State University, in the farm press, 2015). */
	factor: 0.12,
	/** Slow error (moisture, slope, temperature): relative standard deviation; about a per cent (method.md, 3; common practice). */
	slow: 0.008,
	/** One standard deviation of what is believed of the above: a factor of two (common practice). */
	slowSpread: 2,
	/** Its correlation time, seconds: "minutes to hours"; 25 minutes is in the middle of that (common practice). */
	slow_s: 1500,
	/** The same at its longest: what a drift must beat (common practice). */
	slowLongest_s: 2400,
	/** Largest slow error that a constant monitor is taken to make, relative (common practice). */
	slowLargest: 0.011,
	/** White error over one fill (its loading, a full tank, a turn): relative standard deviation (common practice). */
	fill: 0.006,
	/** One standard deviation of what is believed of that: where one fill alone was weighed nothing checks it (common practice). */
	fillSpread: 3,
	/** While single wrong weights are looked for it may err slowly by this: a step or a drift is then no fault of the weights (simulated). */
	slowWide: 0.02,
	/** A factor outside these is no usual monitor (method.md, 7: about 10 % when poorly calibrated). */
	plausible: [0.6, 1.6] as readonly [number, number],
	/** A recalibration or a moved sensor comes about once in so many hours of work (common practice). */
	change_h: 100,
	/** And changes the factor by this, relative standard deviation (common practice). */
	change: 0.06,
	/** Such a change goes on slowly instead, as a drift, in this share of fields … (common practice) */
	drifts: 0.1,
	/** … and comes to this over the field, relative standard deviation (common practice). */
	drift: 0.1,
	/** Within this a monitor is well calibrated, percent (Iowa State University, in the farm press, 2015). */
	well_pct: 3,
	/** Calibrate again when moisture has moved by this many points (Iowa State University, in the farm press, 2015). */
	recalibrate_points: 4,
	/** Points at which flow, that a curve is told from, must vary between passes: relative scatter of their speeds (common practice). */
	speedContrast: 0.05,
} as const;

/** A combine's tank and what stays in it. */
export const TANK = {
	/** What clings to an emptied tank and its auger, kg (common practice). */
	clinging_kg: 40,
	/** What stays when a tank is not emptied: share of the tank on the average, small rests being commoner (common practice). */
	restShare: 0.25,
	/** A tank is emptied at a dump about as often as not, where one cart serves two combines; learnt again from the field. */
	emptied: 0.55,
	/** A note that the tank was emptied is wrong in this share of dumps (common practice). */
	noteWrong: 0.018,
	/** A rest known no better than this is a bounded unknown, kg. */
	broad_kg: 500,
	/** A rest that nobody noted is worth looking for from this size, kg (common practice). */
	notable_kg: 150,
	/** Grain leaves a tank at about this rate, kg/s (common practice). */
	unloading_kg_s: 80,
} as const;

/** The cart and its scale. */
export const CART = {
	/** Reading of a gross weight: u² = a² + (b · gross)²: a in kg, b relative (common practice for cart indicators). */
	reading_a_kg: 10,
	reading_b_rel: 0.001,
	/** Weights are rounded: none is better than this, kg (common practice). */
	rounding_kg: 5,
	/** What a weight errs by alone: the cart stands a little askew; relative (common practice). */
	stand_rel: 0.001,
	/** A mobile scale checked this season: limits, relative (common practice). */
	checked_rel: 0.01,
	/** One that was not: limits, relative (common practice). */
	unchecked_rel: 0.05,
	/** One truck load tells no scatter: this relative uncertainty of a load is taken (common practice). */
	load_rel: 0.004,
	/** Fewer truck loads than this are a thin check (common practice: three to five). */
	enoughLoads: 3,
	/** Loads of a scale that stays as it is repeat within this, relative (common practice). */
	repeat_rel: 0.002,
	/** A truck load that is no fair comparison (other grain in it, some gone elsewhere): one in so many … (common practice) */
	oddLoad: 30,
	/** … and may then be off by anything up to this, relative. */
	oddLoad_rel: 0.15,
	/** A cart's scale wanders by this over ten hours of work, relative (common practice). */
	wander_rel: 0.001,
	wander_h: 10,
	/** It changes at once (a load cell, a cable, a new zero) about once in so many hours of work … (common practice) */
	change_h: 400,
	/** … by this, relative standard deviation; an adjustment is known within a few per cent (common practice). */
	change: 0.06,
	/** Or drifts, in this share of fields, by so much over the field, relative standard deviation (common practice). */
	drifts: 0.03,
	drift: 0.03,
	/** Tolerance of a certified truck scale, class III L: one division in 500, relative (NIST Handbook 44, 2.20, Table 6). */
	certified_rel: 1 / 500,
	/** A scale stands beyond its limits in this share of fields (common practice). */
	beyond: 0.05,
	/** A weight that is nonsense: one in so many … (common practice) */
	nonsense: 700,
	/** … and may then be anything up to this, kg. */
	nonsense_kg: 15_000,
	/** A weight is taken for wrong that takes this off −2 log-likelihood once it is not believed (chance reaches 20 once in 100,000; a wrong weight is rare, and must be the clearer) … */
	wrong_gain: 32,
	/** … and is off by more than this share, relative (common practice). */
	wrong_rel: 0.04,
	/** Dumps after which a quick check is worth repeating (common practice). */
	checkAfter: 5,
} as const;

/** Certified tickets and the people who copy them (common practice throughout). */
export const TICKETS = {
	/** They hold dry weights where wet ones are asked for, in this share of fields. */
	dry: 0.05,
	/** They are of other grain, or otherwise wrong all alike, in this share of fields … */
	other: 0.02,
	/** … by this, relative standard deviation; so is a cart's scale that is beyond its limits. */
	slip_rel: 0.05,
	/** Loads that differ among themselves by more were not all changed by one slip, relative. */
	alike_rel: 0.02,
	/** What drying takes off is known this well from tickets' moistures, relative to the weight. */
	drying_rel: 0.002,
} as const;

/** Seams between passes. */
export const SEAM = {
	/** What may differ between two combines' ground beyond what the seams show, relative: they see a part of the field at a part of the time (common practice). */
	carry: 0.005,
	/** The same while weights are being matched, relative (common practice). */
	match: 0.01,
} as const;

/** Clocks and the people who press the button. */
export const CLOCK = {
	/** Delay between a dump's end and its weight being taken: scatter, seconds (common practice). */
	delay_s: 20,
	/** What is usual in that is known no better, seconds (common practice). */
	delayUsual_s: 6,
	/** A time to the minute: 60 / √12, seconds. */
	minute_s: 17.3,
	/** Whether minutes are cut off or rounded, seconds: half a minute / 2. */
	minuteUsual_s: 15,
	/** Drift of a tablet's clock without anyone thinking of it, seconds (common practice). */
	drift_s: 150,
} as const;

/** Moisture, percentage points. */
export const MOISTURE = {
	/** A probe sample against the load it stands for (from memory). */
	ticket_u_pct: 0.15,
	/** A sensor that nothing checks (from memory). */
	unchecked_u_pct: 0.6,
	/** A sensor that is set for another crop or otherwise wrong: in this share of fields … (common practice) */
	wrong: 0.05,
	/** … by this, standard deviation. */
	wrong_u_pct: 3,
	/** Moistures are given on a dry basis in this share of fields (common practice). */
	dryBasis: 0.05,
} as const;
