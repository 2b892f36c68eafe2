/** Grain of one dump, kilograms as the cart showed. An empty dump id: grain from no dump in the book. */
export interface Portion {
	dump: string;
	kg: number;
}

/** One movement on a cart's scale, in order of time. */
export interface Weighing {
	id: string;
	kind: 'dump' | 'offload' | 'zero';
	cart: string;
	time_s: number;
	/** What the scale read before and after. */
	before_kg: number;
	after_kg: number;
	/** Grain moved: into the cart for a dump, out of it for an offload, nothing for a zeroing. Never negative. */
	net_kg: number;
	/** What is odd about it, as a key for the screen's text; empty where nothing is. */
	odd: ('no weight' | 'wrong way' | 'below nothing' | 'above size')[];
	/** Offloads: what was taken, by dump, with the cart's contents assumed to be mixed. */
	took: Portion[];
	/** Offloads: the dumps behind it, as the cart weighed them coming in; null where the two sides do not match. */
	dumps_kg: number | null;
	load: string | null;
}
