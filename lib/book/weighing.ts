/** Grain of one dump, kilograms as the cart indicated. An empty dump id: grain that no dump in the book tells of. */
export interface Portion {
	dump: string;
	kg: number;
}

/** One movement on a cart's scale in order of time. */
export interface Weighing {
	id: string;
	kind: 'dump' | 'offload' | 'zero';
	cart: string;
	time_s: number;
	/** What the scale read before and after. */
	before_kg: number;
	after_kg: number;
	/** Grain moved: into the cart for a dump, out of it for an offload, nothing for a zeroing. Never below 0. */
	net_kg: number;
	/** What is odd about it, as a word for the screens' wording; empty where nothing is. */
	odd: ('no weight' | 'wrong way' | 'below nothing' | 'above size')[];
	/** Offloads: what was taken, by dump, the cart's content being taken as mixed. */
	took: Portion[];
	/** Offloads: the dumps behind it, as the cart weighed them when they came in; null where both sides do not meet. */
	dumps_kg: number | null;
	load: string | null;
}
