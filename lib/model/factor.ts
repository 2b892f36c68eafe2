/** How a factor may vary within a field. */
export type FactorForm = 'constant' | 'step' | 'trend' | 'flow';

/** Line of the uncertainty budget. */
export interface BudgetLine {
	name: string;
	/** Relative standard uncertainty. */
	u_rel: number;
	/** Share of the whole variance, 0…1. */
	share: number;
	/** What would make it smaller. */
	advice: string;
}

/** Factor of one combine. */
export interface Factor {
	combine: number;
	form: FactorForm;
	/** Corrected / account over the whole field. NaN where nothing speaks. */
	value: number;
	u_rel: number;
	/** 95 %, this field's mass. */
	interval: [number, number];
	/** 95 %, the next load. */
	next_interval: [number, number];
	n: number;
	/** null: no weight, total or seam speaks; the yields stand as recorded. */
	source: 'dumps' | 'tickets' | 'total' | 'seams' | 'pinned' | null;
	/** Of a factor set by hand: what the evidence gives, null where it gives nothing. */
	weighed?: WeighedFactor | null;
	changes: { time_s: number; value: number }[];
	knots: { time_s: number; value: number }[];
	curve: { flow_kg_s: number; value: number }[];
	budget: BudgetLine[];
	/** Scatter between fills, relative. */
	scatter_rel: number;
	/** More dumps for ± 1 %; Infinity = no number of dumps reaches it. */
	moreDumps: number;
	/** Advice in words. */
	advice: string[];
	/** How each form did when predicting left-out blocks of fills: root mean square, relative. */
	tried: { form: FactorForm; score: number }[];
}

/** What the evidence says where the user has set a factor by hand. */
export interface WeighedFactor {
	value: number;
	/** 95 %. */
	interval: [number, number];
	n: number;
	source: 'dumps' | 'tickets' | 'total' | 'seams';
}

/** The factor that a record is scaled by: a combine without one (NaN) stands as recorded. */
export function standing(factor: number): number {
	return Number.isFinite(factor) ? factor : 1;
}

/** Factors of all combines and what they make of every record. */
export interface Factors {
	/** One a combine, in the order of `Records.combines`. */
	factors: Factor[];
	/** One value a record; NaN where the combine has none. */
	factor: Float64Array;
	/** Relative standard uncertainty of the factor, one value a record. */
	u_rel: Float64Array;
	/** Covariance of the log factors between combines (row-major, combines × combines), reference included. */
	covariance: Float64Array;
	/** Weighings (indices into Match.weighings) that the robust solution does not believe, and why. */
	aside?: { weighing: number; reason: string }[];
	/** Dumps (indices into LoadBook.dumps) that the match had set aside and that a step or trend explains: used after all. */
	rescued?: number[];
	/** Unloadings (indices into Match.unloadings) after which the match saw grain stay, where a step or trend explains it. */
	overturned?: number[];
	/** What forms of factors and scale explain beyond one factor a combine, −2 log-likelihood: an alignment does not know of it. */
	gain?: number;
	/** Remarks for the reader on how the factors came about. */
	notes?: string[];
	cautions?: string[];
}
