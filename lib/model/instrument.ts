/**
 * Errors of monitors, carts, scales, tanks, clocks and people: every such number once, with its unit and source.
 * "Common practice" means that no source is known. The estimators use these numbers and the documentation quotes them.
 */

/** A header's width where neither log nor plan gives one, meters: that of common ones (common practice). */
export const ASSUMED_HEADER_M = 6;

/** The combine's yield monitor. */
export const MONITOR = {
	/** Its factor before anything is known: standard deviation about 1. Poorly calibrated ones are within about 10 % (Iowa State University, in the farm press, 2015). */
	factor: 0.12,
	/** Slow error (moisture, slope, temperature): relative standard deviation; about one percent (common practice). */
	slow: 0.008,
	/** How well `slow` itself is known, as one standard deviation: a factor of two (common practice). */
	slowSpread: 2,
	/** Its correlation time, seconds: "minutes to hours"; 25 minutes is in the middle of that (common practice). */
	slow_s: 1500,
	/** White error over one fill (its loading, a full tank, a turn): relative standard deviation (common practice). */
	fill: 0.006,
	/** How well `fill` itself is known, as one standard deviation, a factor: with one tank load weighed nothing checks it (common practice). */
	fillSpread: 3,
	/** Grain that came through while the log held nothing, as accounted by ground and delay: relative standard deviation (simulated). */
	unrecorded: 0.07,
	/** Slow error allowed while wrong weights are looked for, so that a step or drift is not blamed on the weights (simulated). */
	slowWide: 0.02,
	/** A factor outside these limits is not plausible for a monitor (about 10 % off when poorly calibrated; common practice). */
	plausible: [0.6, 1.6] as readonly [number, number],
	/** Mean hours of work between changes of the factor, such as a recalibration or a moved sensor (common practice). */
	change_h: 100,
	/** Size of such a change, relative standard deviation (common practice). */
	change: 0.06,
	/** Such a change goes on slowly instead, as a drift, in this share of fields (common practice). */
	drifts: 0.1,
	/** Change of the factor per kg/s of flow, as of a sensor that saturates, relative standard deviation (common practice). */
	curve: 0.05,
	/** Share of monitors whose sensor saturates (common practice). */
	saturates: 0.02,
	/** Within this a monitor is well calibrated, percent (Iowa State University, in the farm press, 2015). */
	well_pct: 3,
	/** Calibrate again when moisture has moved by this many points (Iowa State University, in the farm press, 2015). */
	recalibrate_points: 4,
	/** Least relative scatter of speed between passes from which a curve in flow can be estimated (common practice). */
	speedContrast: 0.05,
} as const;

/** Whether a monitor may have this factor; if not, a unit, a match or a scale is wrong rather than a calibration. */
export const isPlausible = (factor: number): boolean =>
	factor >= MONITOR.plausible[0] && factor <= MONITOR.plausible[1];

/** A combine's tank and what stays in it. */
export const TANK = {
	/** Grain that stays in an emptied tank and its auger, kg (common practice). */
	clinging_kg: 40,
	/** Grain left when a tank is not emptied: mean share of the tank; small amounts are more common (common practice). */
	restShare: 0.25,
	/** Prior probability that a dump empties the tank where one cart serves two combines; updated from the field (common practice). */
	emptied: 0.55,
	/** A note that the tank was emptied is wrong in this share of dumps (common practice). */
	noteWrong: 0.018,
	/** Grain left in the tank known no better than this counts as unknown within bounds, kg (common practice). */
	broad_kg: 500,
	/** Tanks are often left with grain and nobody notes it, in this share of days (common practice). */
	unnoted: 0.2,
	/** A heaped tank holds up to this times what is given for it (common practice). */
	heaped: 1.12,
	/** Least and most that the tank of a combine holds, wider than for any machine, kg (common practice). */
	size_kg: [700, 20_000],
	/** Usual unloading rate of a tank, kg/s (common practice). */
	unloading_kg_s: 80,
} as const;

/** The cart and its scale. */
export const CART = {
	/** Standard uncertainty of a gross reading: u² = a² + (b · gross)², a in kg, b relative (common practice for cart indicators). */
	reading_a_kg: 10,
	reading_b_rel: 0.001,
	/** Least standard uncertainty of a weight, since displays round, kg (common practice). */
	rounding_kg: 5,
	/** Error of each weight on its own, since the cart is never quite level; relative (common practice). */
	stand_rel: 0.001,
	/** Limits of a mobile scale that was not checked, relative (common practice). */
	unchecked_rel: 0.05,
	/** Relative uncertainty assumed for a single truckload, which shows no scatter (common practice). */
	load_rel: 0.004,
	/** Fewer truckloads than this are too few for a sound check (common practice: three to five). */
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
	/** … by this, relative standard deviation; an adjustment is known within a few percent (common practice). */
	change: 0.06,
	/** … or by this, relative standard deviation, where one load cell of about four fails (common practice). */
	cell: 0.25,
	/** A second cart weighs some of the dumps and no row says so, in this share of fields (common practice). */
	second: 0.05,
	/** Or drifts, in this share of fields, by so much over the field, relative standard deviation (common practice). */
	drifts: 0.03,
	drift: 0.03,
	/** A load this far from the others is more than scale error: other grain went into the truck, or some is missing; relative (common practice). */
	apart_rel: 0.02,
	/** Weights are taken before the grain has settled or the auger has stopped, in this share of fields … (common practice) */
	hasty: 0.1,
	/** … and are then off by this, standard deviation, kg (common practice). */
	hasty_kg: 150,
	/** Its zero is off, so that a dump into the empty cart weighs wrong, in this share of fields … (common practice) */
	zeroOff: 0.03,
	/** … by this, standard deviation, kg (common practice). */
	zero_kg: 300,
	/** Normal difference between a load's dumps and its offload, relative and kg (common practice). */
	same_rel: 0.012,
	same_kg: 40,
	/** Tolerance of a certified truck scale, class III L: one division in 500, relative (NIST Handbook 44, 2.20, Table 6). */
	certified_rel: 1 / 500,
	/** Share of fields in which a scale is outside its limits (common practice). */
	beyond: 0.05,
	/** One weight in this many is grossly wrong … (common practice) */
	nonsense: 700,
	/** … and may then be anything up to this, kg (common practice). */
	nonsense_kg: 15_000,
	/** A weight is taken to be wrong if leaving it out lowers −2 log-likelihood by this much (chance reaches 20 once in 100,000; wrong weights are rare, so the evidence must be stronger) … */
	wrong_gain: 32,
	/** … and if it is off by more than this, relative (common practice). */
	wrong_rel: 0.04,
	/** Number of dumps after which a quick check is worth repeating (common practice). */
	checkAfter: 5,
} as const;

/** Certified tickets and the people who copy them. */
export const TICKETS = {
	/** Share of fields in which tickets give dry weights in place of wet ones (common practice). */
	dry: 0.05,
	/** Share of fields in which all tickets are of other grain or otherwise wrong alike … (common practice) */
	other: 0.02,
	/** … by this, relative standard deviation; also used for a cart scale outside its limits (common practice). */
	slip_rel: 0.05,
	/** A truckload has no ticket; or a ticket is of another field, entered twice, or of a wrong weight: each in this share of fields (common practice). */
	fault: 0.1,
	/** Beside such a fault another truckload has no ticket, in this share of those (common practice). */
	another: 0.3,
	/** Uncertainty of the weight lost by drying, from the tickets' moistures, relative to the weight (common practice). */
	drying_rel: 0.002,
	/** A ratio this near to that of two units looks like it, in logarithms. */
	nearUnit: 0.03,
	/** Most offloads that one truckload may have (common practice). */
	most_offloads: 4,
	/** Shortest and longest time from a truck's last offload to its ticket, s (common practice). */
	away_s: [60, 4 * 3600] as readonly [number, number],
	/** Scatter of the time on the road from truck to truck, s (common practice). */
	road_s: 1200,
	/** Where no number joins ticket and offload: largest difference between a cart's scale and the certified one, relative … */
	near_rel: 0.07,
	/** … and largest scatter of one cart's ratio between truckloads, relative (common practice). */
	agree_rel: 0.004,
} as const;

/** Seams between passes. */
export const SEAM = {
	/** How much two combines' factors may differ beyond what the seams show, relative: seams cover part of the field, part of the time (common practice). */
	carry: 0.005,
	/** The same while weights are being matched, relative (common practice). */
	match: 0.01,
} as const;

/** Clocks and the people who press the button. */
export const CLOCK = {
	/** Of dumps entered by hand, weight and monitor reading, one in this many is mistyped (common practice). */
	mistyped: 100,
	/** From some dump on the names of two combines are exchanged, in this share of days (common practice). */
	exchanged: 0.02,
	/** Scatter of the delay between a dump's end and its weight being taken, seconds (common practice). */
	delay_s: 20,
	/** Standard uncertainty of a time given to the minute: 60 / √12, seconds. */
	minute_s: 17.3,
	/** Unnoticed drift of a tablet's clock, seconds (common practice). */
	drift_s: 150,
} as const;

/** Moisture, percentage points. */
export const MOISTURE = {
	/** Standard uncertainty of a probe sample as the moisture of its load (from memory). */
	ticket_u_pct: 0.15,
	/** Standard uncertainty of a sensor that nothing checks (from memory). */
	unchecked_u_pct: 0.6,
	/** Standard uncertainty of market moisture as that of grain whose moisture nobody noted (common practice). */
	unknown_u_pct: 2,
	/** A sensor that is set for another crop or otherwise wrong: in this share of fields … (common practice) */
	wrong: 0.05,
	/** … by this, standard deviation. */
	wrong_u_pct: 3,
	/** Moistures are given on a dry basis in this share of fields (common practice). */
	dryBasis: 0.05,
	/** The same ground read by two sensors in passes at different hours, standard uncertainty (common practice). */
	seam_u_pct: 0.15,
	/** Seams shorter than this are not used for moisture, m (common practice). */
	seam_m: 200,
	/** What a sensor shows of grain lies between these; beyond them it measured none (common practice). */
	sensed: [2, 50] as readonly [number, number],
	/** An offset larger than this is more than sensor error (common practice). */
	far_pct: 2,
	/** An offset of at least this size on all combines alike is attributed to the tickets (common practice). */
	common_pct: 1.2,
} as const;

/** Whether a sensor measured grain. */
export const isSensed = (moisture_pct: number): boolean =>
	moisture_pct > MOISTURE.sensed[0] && moisture_pct < MOISTURE.sensed[1];
