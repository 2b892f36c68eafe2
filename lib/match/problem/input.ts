import type { Field, Run, SeamJump, Tracked } from '../../model/index.ts';

/** The input of the match. */
export interface MatchInput extends Tracked, Pick<Field, 'book'>, Pick<Run, 'reference'> {
	/** Seam jumps as recorded. */
	seams: SeamJump[];
	/** Rows of the cart log that a supposition sets aside: indices into LoadBook.dumps, with the reason. */
	aside?: ReadonlyMap<number, string>;
	/** Dumps that name no combine may be of grain that no log holds. */
	incomplete?: true;
}
