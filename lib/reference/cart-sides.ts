import { CART, type LoadBook, stepsByCart } from '../model/index.ts';

/** Largest normal difference between dumps of this mass and the offload of the same grain, kg. */
export const sameWeight = (dumped_kg: number): number => CART.same_kg + CART.same_rel * dumped_kg;

/** Least offloads, and least share of them, that a difference common to all dumps must explain. */
const ENOUGH = 3;
const EXPLAINED = 0.4;
/** A larger common difference is not one of weighing, relative. */
const MOST_REL = 0.1;

/**
 * The dumps behind each offload, kg: their sum since the cart was last empty, shared out over the offloads until it
 * is empty again. NaN where dumps and offloads do not come to the same: a dump was not logged, logged twice, or some
 * grain stayed in the cart. Where nearly all differ by the same share, the cart was weighed too early or while it moved: then
 * that is no reason.
 */
export function cartSides(book: LoadBook): Float64Array {
	const plain = sidesWhere(book, AS_WEIGHED);
	const dumped_kg = total(book.dumps);
	const lacks_kg = total(book.offloads) - dumped_kg;
	const share = 1 + lacks_kg / dumped_kg;
	if (!(Math.abs(share - 1) < MOST_REL)) return plain.of;
	const alike = sidesWhere(book, { ...AS_WEIGHED, share });
	if (alike.closed < Math.max(ENOUGH, EXPLAINED * plain.of.length, 2 * plain.closed)) return plain.of;
	// A constant difference of every dump or of each cart load is a zero that is off, or an auger that went on: where it fits
	// clearly better. With noise, dumps that are all light by a share fit a constant about as well.
	const constant = [
		sidesWhere(book, { ...AS_WEIGHED, dump_kg: lacks_kg / book.dumps.length }),
		sidesWhere(book, { ...AS_WEIGHED, load_kg: lacks_kg / plain.loads }),
	];
	return constant.some((c) => c.closed >= alike.closed && c.miss_kg < alike.miss_kg / 2) ? plain.of : alike.of;
}

const total = (rows: readonly { weight_kg: number }[]): number => rows.reduce((sum, r) => sum + r.weight_kg, 0);

/** What a dump is: so many times what was weighed, and so much more at each or at the first of a cart load, kg. */
interface Difference {
	share: number;
	dump_kg: number;
	load_kg: number;
}

const AS_WEIGHED: Difference = { share: 1, dump_kg: 0, load_kg: 0 };

/** The same with a difference; how often the cart was filled and empty, and the mean difference when it was. */
function sidesWhere(book: LoadBook, { share, dump_kg, load_kg }: Difference) {
	const of = new Float64Array(book.offloads.length).fill(Number.NaN);
	let closed = 0;
	let loads = 0;
	let miss_kg = 0;
	for (const steps of stepsByCart(book)) {
		let dumped = 0;
		let should = 0;
		let unloaded = 0;
		let open: number[] = [];
		let first = true;
		/** Dumped and unloaded up to the last offload. */
		let before = { dumped, should, unloaded };
		for (const { dump, offload } of steps) {
			if (offload < 0) {
				const kg = book.dumps[dump]!.weight_kg;
				dumped += kg;
				should += share * kg + dump_kg + (first ? load_kg : 0);
				loads += Number(first);
				first = false;
				continue;
			}
			first = true;
			unloaded += book.offloads[offload]!.weight_kg;
			// Where an offload comes to its own dumps, nothing was left in the cart before it: a weight there is wrong.
			const own = should - before.should;
			const apart = Math.abs(own - (unloaded - before.unloaded));
			if (apart <= sameWeight(own) && apart < Math.abs(should - unloaded)) {
				dumped -= before.dumped;
				should -= before.should;
				unloaded -= before.unloaded;
				open = [];
			}
			open.push(offload);
			before = { dumped, should, unloaded };
			const rest = should - unloaded;
			if (Math.abs(rest) <= sameWeight(should)) {
				for (const o of open) of[o] = (dumped / unloaded) * book.offloads[o]!.weight_kg;
				closed++;
				miss_kg += Math.abs(rest);
			} else if (rest > 0) {
				// The truck is full: what is left in the cart goes into the next one.
				continue;
			}
			dumped = 0;
			should = 0;
			unloaded = 0;
			open = [];
			before = { dumped, should, unloaded };
		}
	}
	return { of, closed, loads, miss_kg: miss_kg / closed };
}
