/** The load book of one field: what the cart and the certified scale weighed, in row order. */
export interface LoadBook {
	dumps: Dump[];
	offloads: Offload[];
	tickets: Ticket[];
}

/** Where a row came from. */
export interface Origin {
	file: string;
	/** The file's line, the header being 1; null for an event found in a weight trace. */
	row: number | null;
}

/** How well a time is known: to the second, the minute, the day, or only by row order. */
export type TimeGrain = 'second' | 'minute' | 'day' | 'none';

/** What rows of the cart log and tickets have in common. */
interface LoadRow {
	origin: Origin;
	/** Place among all rows of the file (dumps and offloads together): the order when times are blank. */
	order: number;
	/** The scale's own clock read as UTC seconds; NaN where blank. To the day: the day's start. */
	time_s: number;
	timeGrain: TimeGrain;
	truckLoad: string | null;
	moisture_pct: number;
	testWeight_kg_hl: number;
	destination: string | null;
	note: string | null;
}

interface CartRow extends LoadRow {
	id: string;
	/** Net moved, as the cart indicated. */
	weight_kg: number;
	/** Standard uncertainty of this weight where known on its own (weight trace); NaN = use the scale's. */
	u_kg: number;
	scale: string | null;
	field: string | null;
	variety: string | null;
	lat_deg: number;
	lon_deg: number;
}

/** Grain moved from a combine's tank to the cart, weighed by the cart. */
export interface Dump extends CartRow {
	/** As noted: ["A"], ["A", "B"] for one weight of both, [] = not noted. */
	combines: string[];
	/** Was the tank empty after it? 1 yes, 0 no, −1 not known. */
	emptied: -1 | 0 | 1;
	/** True where the cart stood still while the weight was taken. False marks a doubtful weight (from a trace only). */
	settled: boolean;
}

/** Grain moved from the cart to a truck. */
export interface Offload extends CartRow {}

/** A certified scale's weight of one truck load. */
export interface Ticket extends LoadRow {
	ticket: string;
	net_kg: number;
	/** Combine that dumped straight into the truck; null otherwise. */
	combine: string | null;
}

/** A cart indicator's weight against its own clock: columns of length n, in the file's order. */
export interface WeightTrace {
	file: string;
	n: number;
	/** Line in the file, the header being 1. */
	line: Uint32Array;
	/** The cart's own clock read as UTC seconds. */
	time_s: Float64Array;
	/** What the indicator showed: gross less its zero; may be below 0. NaN where blank. */
	weight_kg: Float64Array;
	/** 1 the cart moved, 0 it stood, −1 not known. */
	moving: Int8Array;
}

/** One row of the cart log: index of its dump or of its offload, the other being −1. */
export interface CartStep {
	dump: number;
	offload: number;
	/** Time to sort by, the cart's clock; a row without one takes the time of the row before it. */
	key_s: number;
}

/** Dumps and offloads as they happened: by time, and by their place in the log where times are equal or blank. */
export function cartSteps(book: LoadBook): CartStep[] {
	const rows = [
		...book.dumps.map((d, i) => ({ dump: i, offload: -1, order: d.order, time_s: d.time_s, grain: d.timeGrain })),
		...book.offloads.map((o, i) => ({ dump: -1, offload: i, order: o.order, time_s: o.time_s, grain: o.timeGrain })),
	].sort((a, b) => a.order - b.order);
	let before = -Infinity;
	const steps = rows.map((r) => {
		const known = Number.isFinite(r.time_s);
		// A day is known only by its start, so its rows keep their place among rows of that day with exact times.
		if (known)
			before =
				r.grain === 'day'
					? Math.max(r.time_s, Math.floor(before / 86400) === Math.floor(r.time_s / 86400) ? before : r.time_s)
					: r.time_s;
		return { dump: r.dump, offload: r.offload, key_s: before };
	});
	// Array sorting is stable: equal keys keep the log's order.
	return steps.sort((a, b) => (a.key_s === b.key_s ? 0 : a.key_s - b.key_s));
}

/** The dumps between step `at` of a cart and its next offload, and that offload, kg; null where none follows. */
export function nextOffload(
	book: LoadBook,
	steps: readonly CartStep[],
	at: number,
): { dumped_kg: number; offload_kg: number } | null {
	let dumped_kg = 0;
	for (let k = at + 1; k < steps.length; k++) {
		const { dump, offload } = steps[k]!;
		if (offload >= 0) return { dumped_kg, offload_kg: book.offloads[offload]!.weight_kg };
		dumped_kg += book.dumps[dump]!.weight_kg;
	}
	return null;
}

/**
 * What each dump added, from what stood in the cart after it, kg. A figure below the one before is of a cart that was
 * emptied meanwhile.
 *
 * @param held_kg - in the cart before the first
 */
export function added_kg(shown_kg: readonly number[], held_kg = 0): number[] {
	return shown_kg.map((kg, i) => {
		const before_kg = i > 0 ? shown_kg[i - 1]! : held_kg;
		return kg > before_kg ? kg - before_kg : kg;
	});
}

/**
 * `cartSteps` for each cart separately, by the scale named in its rows. Where fewer than two scales are
 * named, or some rows name none, all rows are taken to be from one cart.
 */
export function stepsByCart(book: LoadBook): CartStep[][] {
	const steps = cartSteps(book);
	const scaleOf = (s: CartStep): string | null =>
		(s.dump >= 0 ? book.dumps[s.dump] : book.offloads[s.offload])?.scale ?? null;
	const scales = new Set(steps.map(scaleOf));
	if (scales.size < 2 || scales.has(null)) return [steps];
	return [...scales].map((scale) => steps.filter((s) => scaleOf(s) === scale));
}
