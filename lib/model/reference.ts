/** The cart's scale against certified tickets. */
export interface Reference {
	/** Certified mass / cart mass. */
	ratio: number;
	/** Relative standard uncertainty, certified scale included. */
	u_rel: number;
	/** 95 %. */
	interval: [number, number];
	/** Truckloads used. */
	n: number;
	source: 'tickets' | 'limit' | 'none';
	/** The certified scale's own part of `u_rel`, for the uncertainty budget; absent: not separated. */
	u_certified_rel?: number;
	/** Half-width of the scale's rectangular limits where no ticket checks it, relative; 0 with tickets. */
	limit_rel: number;
	/** Effective degrees of freedom of `u_rel` without the limits; Infinity where nothing was estimated. */
	df: number;
	/** One entry per truckload: what each scale weighed, and why it is not used if it is not. */
	loads: ReferenceLoad[];
	/** Cautions for the reader: few truckloads, offloads and dumps that disagree. */
	remarks?: string[];
	/** Explanations that remain plausible, with their probabilities; ratio and interval are their mixture. Absent: only one. */
	either?: { weight: number; reference: Reference }[];
	/** Ratio from the offloads and from the dumps alone, with relative standard uncertainty; NaN where not known. */
	sides?: { offloads: number; u_offloads: number; dumps: number; u_dumps: number };
}

/** A truckload weighed by the cart and by a certified scale. */
export interface ReferenceLoad {
	truckLoad: string;
	cart_kg: number;
	ticket_kg: number;
	used: boolean;
	reason: string | null;
	/** Time of its last offload, in the cart's clock, seconds; NaN where not known. */
	time_s: number;
	/** The scale that the cart's rows name; null where they name none. */
	scale: string | null;
	/** Ticket weight / (cart weight × ratio) − 1; NaN where the two cannot be compared. */
	rel: number;
	/** The cart weight used in `rel`, kg. */
	side_kg: number;
	/** It checks the scale that its rows name, which is not the one that `ratio` is of. */
	other?: true;
}

/** Ticket moisture less sensed moisture of one combine, percentage points. */
export interface MoistureOffset {
	combine: number;
	offset_pct: number;
	/** The offset with ticket moistures as given, where they may be on another basis; absent: the same. */
	given_pct?: number;
	u_pct: number;
	n: number;
	source: 'tickets' | 'none';
	/** Tickets (by index) whose moisture is not used, as it is far from what the others make of the sensors, and by how much. */
	odd?: readonly { ticket: number; by_pct: number }[];
	/** Most that a ticket differs from what all make of the sensors, points, where they contradict each other. */
	apart_pct?: number;
	/** By how much two sensors differ on the same ground, points, where that is more than sensor error and no ticket decides. */
	differ_pct?: number;
	/** Where no log of the field has a moisture: the one taken, and where it is from. */
	standIn?: { pct: number; u_pct: number; from: 'tickets' | 'cart' | 'market' };
}
