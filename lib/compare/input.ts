import type {
	Account,
	Factors,
	FieldPlan,
	Match,
	MoistureOffset,
	Records,
	Seam,
	SeamJump,
	Track,
} from '../model/index.ts';

/** Input of a comparison: results of every stage up to the corrected yields. */
export interface CompareInput {
	records: Records;
	account: Account;
	track: Track;
	match: Match;
	factors: Factors;
	moisture: MoistureOffset[];
	seams: Seam[];
	/** Before and after correction. */
	jumps: SeamJump[];
	plan: FieldPlan;
}
