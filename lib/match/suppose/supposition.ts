import type { Match } from '../../model/index.ts';
import type { MatchInput } from '../problem/input.ts';

/** One slip that changes all weights, all names or a whole log: the field as it would have been without it. */
export interface Supposition {
	/** The field's files with the slip undone. */
	input: MatchInput;
	/** −ln of how often it happens, nats. */
	price: number;
	/** What the user is told. */
	caution: string;
	/** Clock offsets, seconds, at which it is worth a look beside the plain ones. */
	offsets: number[];
	/** Brings a match under the supposition back to the terms of the files as given. */
	undo(match: Match, given: MatchInput): void;
}
