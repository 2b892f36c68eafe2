/** How thoroughly to look. */
export interface Effort {
	/** Readings kept after each dump. */
	width: number;
	/** Follow the auger's runs one by one, deduced unloadings and mixed weights that nobody noted. */
	whole: boolean;
	/** How far the clock's offset itself may be off here, seconds (standard deviation). */
	clock_s: number;
	/** Give up where even the best hypothesis up to observation i costs more than this: what it costs so far is returned. */
	limit?: (i: number) => number;
}
