import { greatest, sum } from 'd3-array';
import { AS_WEIGHED, CART, type Difference, type LoadBook, lacking, throughCarts } from '../model/index.ts';
import { confusedUnits } from '../units/index.ts';

/** Largest normal difference between dumps of this mass and the offload of the same grain, kg. */
export const sameWeight = (dumped_kg: number): number => CART.same_kg + CART.same_rel * dumped_kg;

/** Least offloads, and least share of them, that a difference common to all dumps must explain. */
const ENOUGH = 3;
const EXPLAINED = 0.4;
/** A larger common difference is not one of weighing but of units, relative. */
const MOST_REL = 0.1;

/**
 * The dumps behind each offload, kg: their sum since the cart was last empty, shared out over the offloads until it
 * is empty again. NaN where dumps and offloads do not come to the same: a dump was not logged, logged twice, or some
 * grain stayed in the cart. Where nearly all differ by the same share, the cart was weighed too early or while it moved: then
 * that is no reason.
 */
export function cartSides(book: LoadBook): Float64Array {
	const of = new Float64Array(book.offloads.length).fill(Number.NaN);
	for (const { offloads, dumped_kg, unloaded_kg } of sidesOf(book))
		for (const o of offloads) of[o] = (dumped_kg / unloaded_kg) * book.offloads[o]!.weight_kg;
	return of;
}

/** The offloads that come to the same as their dumps. */
function sidesOf(book: LoadBook) {
	const under = (difference: Partial<Difference>) => {
		const found = throughCarts(book, { ...AS_WEIGHED, ...difference }, sameWeight);
		const { emptied } = found;
		const miss_kg = sum(emptied, (e) => e.apart_kg) / emptied.length;
		return { ...found, miss_kg };
	};
	const plain = under({});
	const shares = lacking(plain.loads, (l) => l.dumped_kg).filter(
		(rel) => Math.abs(rel) < MOST_REL || confusedUnits(1 + rel) !== null,
	);
	const alike = greatest(
		shares.map((rel) => under({ share: 1 + rel })),
		(a) => a.emptied.length,
	);
	const least = Math.max(ENOUGH, EXPLAINED * plain.loads.length, 2 * plain.emptied.length);
	if (!alike || alike.emptied.length < least) return plain.emptied;
	// A constant difference of every dump or of each cart load is a zero that is off, or an auger that went on: where it fits
	// clearly better. With noise, dumps that are all light by a share fit a constant about as well.
	const constant = [
		...lacking(plain.loads, (l) => l.dumps).map((dump_kg) => under({ dump_kg })),
		...lacking(plain.loads, () => 1).map((load_kg) => under({ load_kg })),
	];
	const fits = constant.some((c) => c.emptied.length >= alike.emptied.length && c.miss_kg < alike.miss_kg / 2);
	return fits ? plain.emptied : alike.emptied;
}
