import type { Run, Seam, SeamJump, Tracked } from '../model/index.ts';

/** Input of a comparison: results of every stage up to the corrected yields. */
export interface CompareInput extends Tracked, Pick<Run, 'match' | 'factors' | 'moisture'> {
	seams: Seam[];
	/** Before and after correction. */
	jumps: SeamJump[];
}
