import type { Match } from '../../model/index.ts';
import type { MatchInput } from '../problem/input.ts';

/** A possible error that affects all weights, all names or a whole log. */
export interface Supposition {
	/** The field as it would be without the error. */
	input: MatchInput;
	/** Prior cost, nats. */
	price: number;
	/** Caution where it is the best explanation; null = the factors have one where it matters. */
	caution: string | null;
	/** Clock offsets to try, seconds, beside the plain ones. */
	offsets: number[];
	/** Restates a match under the supposition in the terms of the files as given. */
	undo(match: Match, given: MatchInput): void;
}
