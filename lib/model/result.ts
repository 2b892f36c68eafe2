import type { BudgetLine, FactorForm, WeighedFactor } from './factor.ts';
import type { Note, SetAside } from './fault.ts';
import type { Statement } from './statement.ts';

/** The content of result.json. Times are ISO 8601 with Z. */
export interface Result {
	schema: 'steelyard.result/1';
	/** The field's own data from field.json, for tables over many fields. */
	field: {
		name: string;
		season: number | null;
		client: string | null;
		farm: string | null;
		crop: string;
		bushel_kg: number;
		market_moisture_pct: number;
	};
	clock: { offset_s: number | null; u_s: number | null; source: string };
	reference: { ratio: number; u_rel: number; interval: [number, number]; n: number; source: string };
	dumps: ResultDump[];
	unweighed: { combine: string; start: string; end: string; monitor_kg: number; deduced_kg?: number; reason: string }[];
	/** By truckload: the cart's offloads, the dumps that filled the cart for them, and the ticket. */
	trucks: TruckLoad[];
	combines: Record<string, ResultCombine>;
	seams: ResultSeam[];
	totals: {
		area_ha: number;
		monitor_kg: number;
		corrected_kg: number;
		cart_kg: number;
		ticket_kg: number;
		dry_kg: number;
		dry_bu: number;
		/** 95 %, of `corrected_kg` and of `dry_bu`; null where the level is not known. */
		corrected_interval: [number, number] | null;
		dry_bu_interval: [number, number] | null;
	};
	/** The field's area three ways; boundary null without one. */
	areas: { cut_ha: number; distance_swath_ha: number; boundary_ha: number | null };
	/** How far the map's mass and area are from the field's totals, percent. */
	closure: { mass_pct: number | null; area_pct: number | null };
	/** Records and mass left off the map, by flag. */
	flags: { flag: string; records: number; account_kg: number }[];
	/** Every number shown to people, with unit, basis, interval and source. */
	statements: Statement[];
	set_aside: SetAside[];
	notes: Note[];
	/** Files read. */
	inputs: { file: string; rows: number; bytes: number; sha256: string }[];
}

/** A dump in result.json. */
export interface ResultDump {
	id: string;
	combine: string | null;
	combine_source: 'noted' | 'inferred';
	status: 'used' | 'joined' | 'aside';
	reason: string | null;
	fill: string | null;
	start: string | null;
	end: string | null;
	cart_kg: number;
	reference_kg: number | null;
	monitor_kg: number | null;
	error_pct: number | null;
}

/** One truckload as weighed by the cart and by the certified scale; null where not known. */
export interface TruckLoad {
	truck_load: string;
	offloads_kg: number | null;
	/** Sum of the dumps that filled the cart for it. */
	dumps_kg: number | null;
	ticket_kg: number | null;
	/** Offloads less dumps. */
	difference_kg: number | null;
	remark: string | null;
	/** Ids of those dumps. */
	dumps: string[];
	/**
	 * Weight that this truckload gives for its one dump with an unusable weight, as the cart would have indicated it; `used` where the
	 * factors use it in place of the weight entered.
	 */
	repaired?: { dump: string; cart_kg: number; used: boolean };
}

/** A factor in result.json: accounted monitor mass times `value` is the corrected mass. */
export interface ResultFactor {
	form: FactorForm;
	value: number;
	u_rel: number;
	interval: [number, number];
	next_interval: [number, number];
	n: number;
	source: 'dumps' | 'tickets' | 'total' | 'seams' | 'pinned';
	/** For a factor set by hand: what the evidence gives. */
	weighed?: WeighedFactor | null;
	changes?: { time: string; value: number }[];
	knots?: { time: string; value: number }[];
	curve?: { flow_kg_s: number; value: number }[];
}

/** A combine in result.json. */
export interface ResultCombine {
	lag_s: number | null;
	lag_u_s: number | null;
	lag_source: string;
	records: number;
	flagged: number;
	fills: number;
	factor: ResultFactor | null;
	moisture: { offset_pct: number; u_pct: number; n: number; source: string };
	monitor_kg: number;
	account_kg: number;
	corrected_kg: number;
	/** What to do, in words. */
	advice: string[];
	/** Where the factor's uncertainty comes from. */
	budget: BudgetLine[];
	/** More dumps for ± 1 %; null: no number of dumps reaches it. */
	more_dumps: number | null;
}

/** A pair of combines across their seams in result.json, before and after correction. */
export interface ResultSeam {
	pair: [string, string];
	before_pct: number;
	before_interval: [number, number];
	after_pct: number;
	after_interval: [number, number];
	moisture_diff_pct: number;
	length_m: number;
}
