/**
 * What each irregularity costs in the alignment. Every cost is −ln of how often the thing happens (in nats): 2.3 is
 * one in ten, 4.6 one in a hundred. A hypothesis of the logs costs the sum of its irregularities and of how far
 * weights, levels and times miss what they should be; the cheapest hypothesis wins. The numbers are rough habits of the
 * field, not fits: what they decide between usually differs by more than ten.
 */
export const COSTS = {
	/** Noted as emptied, yet something stayed; noted as not emptied, yet nothing did. People do write the truth. */
	notedWrong: 4,
	/** A combine comes from another field with grain in its tank. */
	startsWithGrain: 2.3,
	/** Of the grain it comes with: this share of the tank, on the average. */
	startShare: 0.35,
	/** A weight saved twice: one press in a hundred, and soon after the first. */
	repeated: 4.6,
	/** Seconds after which a second press becomes unlikely, on the average. */
	repeatedWithin_s: 120,
	/** A row that is no dump of this field's grain, or a weight that is nonsense. */
	foreign: 6.5,
	/** A weight read too early or keyed wrong, the cart's own level telling by how much. */
	wrong: 5,
	/** To disbelieve a weight that the user has decided to use: more than any evidence adds up to. */
	overruled: 1e5,
	/** The wrong combine noted beside a weight: people know whom they drive up to. */
	mislabeled: 7,
	/** An unloading that nobody weighed or saved and which nothing else tells of. */
	unweighed: 5,
	/** The same where a run of the auger shows it. */
	unweighedSeen: 4,
	/** The same where the cart's level or a ticket tells of its weight already. */
	unweighedDeduced: 0.7,
	/** Such a deduction that finds no place in the logs. */
	unplaced: 5,
	/** A dump that names no combine holds grain of two: rare where nobody notes such weights … */
	mixed: 6.5,
	/** … and common where others are noted. */
	mixedUsual: 1.5,
	/** … and the rule where weights are of whole cart loads: then a load of one combine alone is the rare one. */
	mixedLoad: 0.3,
	loadOfOne: 1.5,
	/** Weights are of whole cart loads and neither a note nor the tanks' size says so: one field in some hundred. */
	loadsUnsaid: 6,
	/** A weight of a whole cart load leaves out an unloading that the other combine's auger shows. */
	loadLeavesOut: 4,
	/** The unloading auger's signal is missing at a dump: a switch fails now and then. */
	augerMissed: 5,
	/** An auger signal with no unloading is rare. */
	augerFalse: 4.6,
	/** The same where weights are of whole cart loads. */
	loadAgain: 0.5,
	/** The clock is off by more than some minutes, by a whole or half hour (zone, summer time). */
	clockHour: 3,
	/** The clock is off by anything else. */
	clockOdd: 5,
	/** The clock is set anew between two days. */
	clockJump: 7,
	/** Grain left in the tank when the log ends. */
	endsWithGrain: 2,
	/** Weights of the hints at a dump's moment: 1, or 0 to leave one out (see test/sim/ablate.ts). */
	useStanding: 1,
	usePlaces: 1,
	useHint: 1,
} as const;

/** A dump is taken standing about this often; learned again from the field (common practice). */
export const STANDING = 0.35;
