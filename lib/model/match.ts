import type { LoadBook } from './load-book.ts';
import type { Records } from './records.ts';
import type { Saturation } from './saturation.ts';
import type { SeamJump } from './seam.ts';

/**
 * The mass of each record as accounted: flow × interval, with the value of nearby records where the sensor failed.
 * Both mass columns have one value per record; a missing flow or interval gives 0.
 */
export interface Account {
	monitor_kg: Float64Array;
	account_kg: Float64Array;
	/** Why the account differs from the monitor, one of `MASS_FAULT`; 0 where it does not. */
	fault: Uint8Array;
}

/** A spike, a dropout, flow where nothing was cut, and grain that came through after the record while nothing was written. */
export const MASS_FAULT = { spike: 2, dropout: 3, idle: 4, unrecorded: 5 } as const;

/** Share of each combine's grain that came through while its log held nothing. */
export function unrecordedShares({ combine, combines }: Records, { monitor_kg, account_kg, fault }: Account): number[] {
	const [missed, all] = [combines.map(() => 0), combines.map(() => 0)];
	for (let i = 0; i < account_kg.length; i++) {
		all[combine[i]!]! += account_kg[i]!;
		if (fault[i] === MASS_FAULT.unrecorded) missed[combine[i]!]! += account_kg[i]! - monitor_kg[i]!;
	}
	return all.map((kg, c) => (kg > 0 ? missed[c]! / kg : 0));
}

/** The cart's clock against the logs'. Add `offset_s` to the cart's time. */
export interface Clock {
	offset_s: number;
	u_s: number;
	source: 'estimated' | 'pinned' | 'assumed' | 'none';
	/** By day, where it jumps; empty where one offset holds throughout. */
	byDay: { day: string; offset_s: number }[];
}

/** One unloading (whole or partial) of one combine's tank, in time order within each combine. */
export interface Unloading {
	combine: number;
	/** Fill name, "A3": the grain that entered the tank since the previous unloading's end. */
	fill: string;
	/** The auger running, in the log's time. */
	start_s: number;
	end_s: number;
	/** Standard uncertainty of `end_s`. */
	u_s: number;
	/** Half-open range of this combine's records in order of time (see `inTimeOrder`) whose grain is this fill. */
	from: number;
	to: number;
	/** Account mass of that range. */
	account_kg: number;
	/** Uncertainty of that mass from the time of the boundary: flow × u_s when grain keeps coming. */
	u_account_kg: number;
	/**
	 * Grain left in the tank after it, before any weight is used, reference mass: mean and standard uncertainty.
	 * Emptied: 0 with a small uncertainty; not emptied or not known: a broad one.
	 */
	rest_kg: number;
	u_rest_kg: number;
	/** Index into LoadBook.dumps, or −1: weighed by a ticket or not at all. */
	dump: number;
	/** Index into LoadBook.tickets when dumped straight into a truck, or −1. */
	ticket: number;
	/** Why there is no weight; null where there is one. */
	unweighed: string | null;
	/** Weight deduced from the cart's level or a ticket, reference mass; NaN where not known. */
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
	/** Indices into Match.unloadings: its own, one per combine; a fill shared by several dumps has one of each. */
	unloadings: number[];
	/** NaN where not known. */
	start_s: number;
	end_s: number;
	/** Another match fits almost as well. */
	inDoubt: boolean;
	/** Its weight by the truckload is used in place of the weight entered. */
	byTruck?: boolean;
}

/**
 * One weighing as an equation:
 *   reference_kg = Σ over parts ( factor × account mass of the part ) + Σ rest before − Σ rest after + error.
 * `solveFactors` solves all of them together.
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
	/** Standard uncertainty of the reading alone, kg; errors shared by consecutive dumps are in `shared`. */
	u_reading_kg: number;
	/** Readings of gross weight that this weighing is a difference of: [before, after], ids equal where shared. */
	readings: [number, number];
	/** Standard uncertainty of each of those readings, kg. */
	u_gross_kg: [number, number];
	/** True where it was weighed by the cart scale; the ratio's uncertainty is common to all of these. */
	byCart: boolean;
	/** Indices into Match.unloadings that it covers (all records between their `from` and `to`). */
	unloadings: number[];
	/** True where it is used; false = aside, kept for the table. */
	used: boolean;
}

/** The alignment of the load book with the logs. */
export interface Match {
	clock: Clock;
	/** By combine, then in time order. */
	unloadings: Unloading[];
	/** One per dump of the load book, in its order. */
	fates: DumpFate[];
	weighings: Weighing[];
	/** Grain in each combine's tank at the log's start, before any weight is used, reference mass: mean and standard uncertainty. */
	start_kg: { kg: number; u_kg: number }[];
	/** Rough factors at the end of the alignment, by combine; NaN where nothing was weighed. */
	factors: number[];
	/** Effective number of independent weights, by combine. */
	independent: number[];
	/** Cost of the best alignment at each clock offset tried; lower is better. For the clock plot. */
	clockFit: { offset_s: number; cost: number }[];
	/**
	 * Other explanations that remain plausible, with their probabilities; this one has the rest. `apart`: a load more or less,
	 * which a mean of the factors would fit as badly as this one.
	 */
	alternatives?: { weight: number; match: Match; apart?: true }[];
	/** Where the match supposes other weights of the dumps than are written: these, one per dump, kg. */
	supposed_kg?: readonly number[];
	/** The weights fit far better with one lasting change of the cart's scale: it was made with that. */
	scaleChanged?: true;
	/**
	 * Present where weights or logs are assumed to be in another unit than stated: the inputs for solving the factors.
	 * Masses in this match are then kilograms under that assumption; `inGivenUnits` restates them.
	 */
	under?: {
		/** kg in one unit of the cart's weights. */
		weight_kg: number;
		account: Account;
		/** What each record's flow was multiplied by; null where no log was. */
		scale: Float64Array | null;
		seams: SeamJump[];
		book: LoadBook;
		/** Where `scale` follows flow: then so does the factor. */
		saturation?: Saturation;
	};
	notes: string[];
	cautions: string[];
}
