import type {
	Account,
	FieldPlan,
	LoadBook,
	Match,
	MoistureOffset,
	Records,
	Reference,
	Seam,
	SeamJump,
	Track,
} from '../model/index.ts';
import type { Flows } from './flows.ts';

/** The input of the factors: the matched weights, the logs, and the seams. */
export interface FactorInput {
	records: Records;
	account: Account;
	track: Track;
	match: Match;
	reference: Reference;
	seams: Seam[];
	/** As recorded, before any factor. */
	jumps: SeamJump[];
	book: LoadBook;
	plan: FieldPlan;
	/** Of these records, account, track and seams, where they are known already. */
	flows?: Flows | undefined;
	/** For the budget's line on dry yield. */
	moisture?: MoistureOffset[];
}
