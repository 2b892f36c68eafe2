/** What can be stated about a field. Report, page, terminal and result.json all take these numbers from one list. */
export type StatementKey =
	| 'monitor_error'
	| 'factor'
	| 'next_dump'
	| 'delay'
	| 'moisture_offset'
	| 'cart_ratio'
	| 'cart_error'
	| 'cart_clock'
	| 'seam_before'
	| 'seam_after'
	| 'area'
	| 'wet_weight'
	| 'dry_weight'
	| 'dry_bushels'
	| 'mean_yield'
	| 'mean_moisture'
	| 'cart_weight'
	| 'ticket_weight'
	| 'map_share'
	| 'cell_error'
	| 'map_weight';

/** One number with what a reader needs to know about it. A quantity that is not known has no statement. */
export interface Statement {
	what: StatementKey;
	/** The combine ("A") or pair of combines ("A/B") that it is about; null: the whole field. */
	about: string | null;
	value: number;
	/** The library's own unit: kg, ha, kg/ha, bu, %, points, s, or '' for a ratio. */
	unit: string;
	/** 95 %; null where there is none. */
	interval: [number, number] | null;
	/** What the number refers to: at what moisture, compared with what, over what. */
	basis: string;
	/** Where it comes from. */
	source: string;
}

/** The statement of that key about a combine, a pair or the field; undefined where there is none. */
export function stated(
	statements: readonly Statement[],
	what: StatementKey,
	about: string | null = null,
): Statement | undefined {
	return statements.find((s) => s.what === what && s.about === about);
}
