/** What is stated of a field: each once, so that report, page, terminal and result.json say the same. */
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

/** One number with everything that a reader must know of it. What is not known is not stated. */
export interface Statement {
	what: StatementKey;
	/** The combine, "A" or a pair, "A/B", that it is about; null: the whole field. */
	about: string | null;
	value: number;
	/** The library's own unit: kg, ha, kg/ha, bu, %, points, s, or '' for a ratio. */
	unit: string;
	/** 95 %; null where there is none. */
	interval: [number, number] | null;
	/** What the number is a number of: moisture, against what, over what. */
	basis: string;
	/** Where it comes from. */
	source: string;
}

/** The statement of that name, or undefined where it could not be made. */
export function stated(
	statements: readonly Statement[],
	what: StatementKey,
	about: string | null = null,
): Statement | undefined {
	return statements.find((s) => s.what === what && s.about === about);
}
