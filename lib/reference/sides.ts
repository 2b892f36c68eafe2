import { CART, type LoadBook, stepsByCart } from '../model/index.ts';

/** Largest normal difference between dumps of this mass and the offload of the same grain, kg. */
export const sameWeight = (dumped_kg: number): number => CART.same_kg + CART.same_rel * dumped_kg;

/** Least offloads, and least share of them, that a difference common to all dumps must explain; most of them without it. */
const ENOUGH = 3;
const EXPLAINED = 0.6;
const AS_WRITTEN = 0.35;
/** A larger common difference is not one of weighing, relative. */
const MOST_REL = 0.1;

/**
 * The dumps behind each offload, kg: their sum since the cart was last empty, shared out over the offloads until it
 * is empty again. NaN where dumps and offloads do not come to the same: a dump was not logged, logged twice, or some
 * grain stayed in the cart. Where nearly all differ by the same share, the cart was weighed too early or while it moved: then
 * that is no reason.
 */
export function cartSides(book: LoadBook): Float64Array {
	const plain = sidesWhere(book, 1, 0);
	const lacks_kg = total(book.offloads) - total(book.dumps);
	const share = lacks_kg / total(book.dumps);
	if (plain.known > AS_WRITTEN * plain.of.length || !(Math.abs(share) < MOST_REL)) return plain.of;
	const alike = sidesWhere(book, 1 + share, 0);
	if (alike.known < Math.max(ENOUGH, EXPLAINED * plain.of.length)) return plain.of;
	// A constant difference is a zero that is off, or an auger that went on as long each time.
	const constant = sidesWhere(book, 1, lacks_kg / book.dumps.length);
	const likelier = constant.known >= alike.known && constant.miss_kg < alike.miss_kg;
	return likelier ? plain.of : alike.of;
}

const total = (rows: readonly { weight_kg: number }[]): number => rows.reduce((sum, r) => sum + r.weight_kg, 0);

/** The same, where each dump is so many times what was weighed, and so much more; with the mean difference where both agree. */
function sidesWhere(book: LoadBook, share: number, more_kg: number) {
	const of = new Float64Array(book.offloads.length).fill(Number.NaN);
	let known = 0;
	let miss_kg = 0;
	for (const steps of stepsByCart(book)) {
		let dumped = 0;
		let should = 0;
		let unloaded = 0;
		let open: number[] = [];
		for (const { dump, offload } of steps) {
			if (offload < 0) {
				const kg = book.dumps[dump]?.weight_kg as number;
				dumped += kg;
				should += share * kg + more_kg;
				continue;
			}
			unloaded += book.offloads[offload]?.weight_kg as number;
			open.push(offload);
			const rest = should - unloaded;
			if (Math.abs(rest) <= sameWeight(should)) {
				for (const o of open) of[o] = (dumped / unloaded) * (book.offloads[o]?.weight_kg as number);
				known += open.length;
				miss_kg += Math.abs(rest) * open.length;
			} else if (rest > 0) {
				// The truck is full: what is left in the cart goes into the next one.
				continue;
			}
			dumped = 0;
			should = 0;
			unloaded = 0;
			open = [];
		}
	}
	return { of, known, miss_kg: miss_kg / known };
}
