import type { Assignment, Hypothesis } from './hypothesis.ts';

/** How thoroughly to look. */
export interface Effort {
	/** Readings kept after each dump. */
	width: number;
	/** Follow the auger's runs one by one, deduced unloadings and mixed weights that nobody noted. */
	whole: boolean;
	/** How far the clock's offset itself may be off here, seconds (standard deviation). */
	clock_s: number;
	/** Give up where even the best hypothesis costs more than this: what it costs so far is returned. */
	limit?: number;
}

/** One more assignment after a hypothesis, and what both cost together. */
export interface Offer {
	cost: number;
	parent: Hypothesis;
	assignment: Assignment;
}
