/**
 * Prior cost of each irregularity in the match: −ln of its frequency, nats (2.3 is one in ten, 4.6 one in a hundred). The cost
 * of a hypothesis is the sum of its irregularities and of the misfits of weights, levels and times; the cheapest is chosen.
 * The numbers are rough estimates, not fits: the hypotheses compared by them usually differ by more than ten.
 */
export const COSTS = {
	/** A note is wrong: noted as emptied but grain was left, or as not emptied but none was. */
	notedWrong: 4,
	/** A combine arrives with grain in its tank. */
	startsWithGrain: 2.3,
	/** Mean amount that it arrives with, as a share of the tank. */
	startShare: 0.35,
	/** A weight is saved twice. */
	repeated: 4.6,
	/** Mean time from the first to the second entry, seconds. */
	repeatedWithin_s: 120,
	/** A row is not of this field's grain, or its weight is an outlier. */
	foreign: 6.5,
	/** A weight is too low by what its truckload has more than its dumps, rather than a dump not saved or an offload wrong. */
	wrong: 2.5,
	/** A weight that the user has decided to use is not used: more than any evidence adds up to. */
	overruled: 1e5,
	/** The wrong combine is noted beside a weight. */
	mislabeled: 7,
	/** An unloading without a weight and without other evidence. */
	unweighed: 5,
	/** The same with a run of the auger. */
	unweighedSeen: 4,
	/** A dump that names no combine is of two: rare where no weight is noted as mixed … */
	mixed: 9,
	/** … and usual where weights are of whole cart loads; then a load of one combine alone is rare. */
	mixedLoad: 0.3,
	loadOfOne: 1.5,
	/** Weights are of whole cart loads, and no note says so. */
	wholeLoads: 4,
	/** The unloading auger's signal is missing at a dump. */
	augerMissed: 5,
	/** An auger signal without an unloading. */
	augerFalse: 3,
	/** An auger signal within a whole cart load, without an unloading of its own in the match. */
	loadAgain: 0.5,
	/** The clock is off by a whole or half hour (time zone, daylight saving time). */
	clockHour: 3,
	/** The clock is off by anything else. */
	clockOdd: 5,
	/** The cart's date is wrong. */
	clockDay: 5,
	/** The clock is reset between two days. */
	clockJump: 7,
	/** Grain is in the tank when the log ends. */
	endsWithGrain: 2,
} as const;

/** Share of dumps taken at a stop (common practice). */
export const STANDING = 0.35;
