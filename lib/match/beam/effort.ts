/** Standard uncertainty of an offset that an earlier search found, for a quick one, seconds. */
export const FOUND_S = 20;

/** How thorough the search is. */
export interface Effort {
	/** Hypotheses kept after each dump. */
	width: number;
	/** Full search: also single runs of the auger and mixed weights without a note. */
	whole: boolean;
	/** Standard uncertainty of the clock's offset, seconds. */
	clock_s: number;
	/** The cart's scale or one monitor may change, and change once more, at these costs. */
	changes?: { scale: number; monitor: number };
	/** The search stops where the best hypothesis up to observation i costs more than this. */
	limit?: (i: number) => number;
}
