/** How a factor may vary within a field. */
export type FactorForm = 'constant' | 'step' | 'trend' | 'flow';

/** One line of an uncertainty budget. */
export interface BudgetLine {
	name: string;
	/** Relative standard uncertainty. */
	u_rel: number;
	/** Share of the total variance, 0…1. */
	share: number;
	/** What would make it smaller. */
	advice: string;
}

/** Factor of one combine. */
export interface Factor {
	combine: number;
	form: FactorForm;
	/** Corrected mass / accounted mass over the whole field. NaN where there is no evidence. */
	value: number;
	u_rel: number;
	/** 95 %, this field's mass. */
	interval: [number, number];
	/** 95 %, for the next dump. */
	next_interval: [number, number];
	n: number;
	/** null: no weight, total or seam gives a factor; yields are as recorded. */
	source: 'dumps' | 'tickets' | 'total' | 'seams' | 'pinned' | null;
	/** For a factor set by hand: what the evidence gives; null where it gives nothing. */
	weighed?: WeighedFactor | null;
	changes: { time_s: number; value: number }[];
	knots: { time_s: number; value: number }[];
	curve: { flow_kg_s: number; value: number }[];
	budget: BudgetLine[];
	/** Scatter between tank loads, relative standard deviation. */
	scatter_rel: number;
	/** More dumps for ± 1 %; Infinity = no number of dumps reaches it. */
	moreDumps: number;
	/** Advice in words. */
	advice: string[];
	/** How well each form predicts held-out blocks of tank loads: relative root mean square error. */
	tried: { form: FactorForm; score: number }[];
}

/** A factor at nine flows from the lowest to the highest. */
export function curveAt([low, high]: readonly [number, number], at: (flow_kg_s: number) => number): Factor['curve'] {
	return Array.from({ length: 9 }, (_, i) => low + ((high - low) * i) / 8).map((flow_kg_s) => ({
		flow_kg_s,
		value: at(flow_kg_s),
	}));
}

/** What the evidence gives where the user has set a factor by hand. */
export interface WeighedFactor {
	value: number;
	/** 95 %. */
	interval: [number, number];
	n: number;
	source: 'dumps' | 'tickets' | 'total' | 'seams';
}

/** The factor to multiply by: the given one, or 1 where a combine has none (NaN), so that its yields stay as recorded. */
export function appliedFactor(factor: number): number {
	return Number.isFinite(factor) ? factor : 1;
}

/** Factors of all combines and what they make of every record. */
export interface Factors {
	/** One per combine, in the order of `Records.combines`. */
	factors: Factor[];
	/** One value per record; NaN where the combine has none. */
	factor: Float64Array;
	/** Relative standard uncertainty of the factor, one value per record. */
	u_rel: Float64Array;
	/** Covariance of the log factors between combines (row-major, combines × combines), reference included. */
	covariance: Float64Array;
	/** Weighings (indices into Match.weighings) that the robust solution leaves out, and why. */
	aside?: { weighing: number; reason: string }[];
	/** Unloadings (indices into Match.unloadings) after which the match left grain in the tank, where a step or trend explains it. */
	emptiedAfterAll?: number[];
	/** Remarks for the reader on how the factors came about. */
	notes?: string[];
	cautions?: string[];
}
