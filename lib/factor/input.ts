import type { Field, MoistureOffset, Run, Seam, SeamJump, Tracked } from '../model/index.ts';
import type { Flows } from './flows.ts';

/** The input of the factors: the matched weights, the logs, and the seams. */
export interface FactorInput extends Tracked, Pick<Field, 'book'>, Pick<Run, 'match' | 'reference'> {
	seams: Seam[];
	/** As recorded, before any factor. */
	jumps: SeamJump[];
	/** Of these records, account, track and seams, where they are known already. */
	flows?: Flows | undefined;
	/**
	 * Where the match supposes another unit: per combine, the factor for the files as given over the one that is solved. Factors
	 * set by hand are for the files as given.
	 */
	restated?: readonly number[] | undefined;
	/** For the budget's line on dry yield. */
	moisture?: MoistureOffset[];
}
