import type { LoadBook } from './book.ts';
import type { SeamJump } from './seam.ts';

/**
 * What each record weighed as accounted: flow × interval, with the neighbors' value where the sensor failed.
 * Both columns have one value a record; a missing flow or interval gives 0.
 */
export interface Account {
	monitor_kg: Float64Array;
	account_kg: Float64Array;
	/** 1 where the account differs from the monitor: 2 spike, 3 drop-out, 4 flow with nothing to flow. */
	fault: Uint8Array;
}

/** The cart's clock against the logs'. Add `offset_s` to the cart's time. */
export interface Clock {
	offset_s: number;
	u_s: number;
	source: 'estimated' | 'pinned' | 'assumed' | 'none';
	/** By day, where it jumps; empty where one offset serves. */
	byDay: { day: string; offset_s: number }[];
}

/** One emptying (whole or partial) of one combine's tank, in time order for each combine. */
export interface Unloading {
	combine: number;
	/** Fill name, "A3": the grain that entered the tank since the previous unloading's end. */
	fill: string;
	/** The auger running, in the log's time. */
	start_s: number;
	end_s: number;
	/** Standard uncertainty of `end_s`. */
	u_s: number;
	/** Half-open range of this combine's records in order of time (see `inTimeOrder`) that made this fill. */
	from: number;
	to: number;
	/** Account mass of that range. */
	account_kg: number;
	/** Uncertainty of that mass from the time of the boundary: flow × u_s when grain keeps coming. */
	u_account_kg: number;
	/** Grain left in the tank after it, reference mass: best estimate and standard uncertainty. */
	rest_kg: number;
	u_rest_kg: number;
	/**
	 * The same before any weight is looked at, for a solver that makes its own use of the weights: `rest_kg` has
	 * used them already. Empty: 0 with a small uncertainty; not emptied or not known: a broad one.
	 */
	restPrior_kg?: number;
	u_restPrior_kg?: number;
	/** Index into LoadBook.dumps, or −1: weighed by a ticket or not at all. */
	dump: number;
	/** Index into LoadBook.tickets when dumped straight into a truck, or −1. */
	ticket: number;
	/** Why there is no weight; null where there is one. */
	unweighed: string | null;
	/** Weight known all the same (cart level, ticket), reference mass; NaN where not. */
	deduced_kg: number;
}

/** What became of a dump: the row for result.json. */
export interface DumpFate {
	dump: number;
	/** Combine indices; two for a mixed weight, none where not known. */
	combines: number[];
	combineSource: 'noted' | 'inferred';
	status: 'used' | 'joined' | 'aside';
	reason: string | null;
	/** Fill name(s): "A3", or "A3+B4" for a mixed weight; null where none. */
	fill: string | null;
	/** Indices into Match.unloadings: its own, one a combine; a fill shared by several dumps has one of each. */
	unloadings: number[];
	/** NaN where not known. */
	start_s: number;
	end_s: number;
	/** Another reading fits almost as well. */
	inDoubt: boolean;
}

/**
 * One weighing as an equation:
 *   reference_kg = Σ over parts ( factor × account mass of the part ) + Σ rest before − Σ rest after + error.
 * The factor room solves all of them together.
 */
export interface Weighing {
	kind: 'dump' | 'mixed' | 'ticket' | 'total';
	/** Indices into LoadBook.dumps (several when one weight was taken in pieces), or of the ticket. */
	dumps: number[];
	ticket: number;
	/** As indicated by its scale, wet. */
	weight_kg: number;
	/** × the scale's ratio. */
	reference_kg: number;
	/** Standard uncertainty of the reading alone, kg; what consecutive dumps share is in `shared`. */
	u_reading_kg: number;
	/** Readings of gross weight that this weighing is a difference of: [before, after], ids equal where shared. */
	readings: [number, number];
	/** Standard uncertainty of each of those readings, kg. */
	u_gross_kg: [number, number];
	/** True where its level comes from the cart scale: the ratio's uncertainty is common to all of these. */
	byCart: boolean;
	/** Indices into Match.unloadings which it covers (every record range between their `from` and `to`). */
	unloadings: number[];
	/** Believed (false = aside; kept for the table). */
	used: boolean;
}

/** The alignment of the load book with the logs. */
export interface Match {
	clock: Clock;
	/** By combine, then in time order. */
	unloadings: Unloading[];
	/** One a dump of the load book, in its order. */
	fates: DumpFate[];
	weighings: Weighing[];
	/** Grain in each combine's tank at the log's start: mean, u; and at its end. Reference mass. */
	start_kg: { kg: number; u_kg: number }[];
	/** The same before any weight is looked at (see `Unloading.restPrior_kg`). */
	startPrior_kg?: { kg: number; u_kg: number }[];
	/** Rough factors the alignment ended with (NaN where no weight speaks). */
	factors: number[];
	/** Dumps that carry as much information as this many independent weights, by combine. */
	independent: number[];
	/** A small picture of how well each clock offset fits: for the dragging of the clock. */
	clockFit: { offset_s: number; cost: number }[];
	/** Other explanations that remain, with their probabilities; what is left to 1 is this one's. */
	alternatives?: { weight: number; match: Match }[];
	/**
	 * Present where weights or logs are taken to be in another unit than written: what the factors are solved with.
	 * Masses in this match are then kilograms under that supposition; `inGivenUnits` restates them.
	 */
	under?: {
		/** kg in one unit of the cart's weights. */
		weight_kg: number;
		account: Account;
		/** What each record's flow was multiplied by; null where no log was. */
		scale: Float64Array | null;
		seams: SeamJump[];
		book: LoadBook;
	};
	notes: string[];
	cautions: string[];
}
