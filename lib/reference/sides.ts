import { CART, type LoadBook, stepsByCart } from '../model/index.ts';

/** Largest normal difference between dumps of this mass and the offload of the same grain, kg. */
export const sameWeight = (dumped_kg: number): number => CART.same_kg + CART.same_rel * dumped_kg;

/**
 * The dumps behind each offload, kg: their sum since the cart was last empty, shared out over the offloads until it
 * is empty again. NaN where dumps and offloads do not come to the same: a dump was not logged, logged twice, or some
 * grain stayed in the cart.
 */
export function cartSides(book: LoadBook): Float64Array {
	const sides = new Float64Array(book.offloads.length).fill(Number.NaN);
	for (const steps of stepsByCart(book)) {
		let dumped = 0;
		let unloaded = 0;
		let open: number[] = [];
		for (const { dump, offload } of steps) {
			if (offload < 0) {
				dumped += book.dumps[dump]?.weight_kg as number;
				continue;
			}
			unloaded += book.offloads[offload]?.weight_kg as number;
			open.push(offload);
			const rest = dumped - unloaded;
			if (Math.abs(rest) <= sameWeight(dumped)) {
				const share = dumped / unloaded;
				for (const o of open) sides[o] = share * (book.offloads[o]?.weight_kg as number);
			} else if (rest > 0) {
				// The truck is full: what is left in the cart goes into the next one.
				continue;
			}
			dumped = 0;
			unloaded = 0;
			open = [];
		}
	}
	return sides;
}
