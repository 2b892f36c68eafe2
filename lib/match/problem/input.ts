import type { Account, FieldPlan, LoadBook, Records, Reference, SeamJump, Track } from '../../model/index.ts';

/** The input of the match. */
export interface MatchInput {
	records: Records;
	account: Account;
	track: Track;
	book: LoadBook;
	plan: FieldPlan;
	reference: Reference;
	/** Seam jumps as recorded. */
	seams: SeamJump[];
}
