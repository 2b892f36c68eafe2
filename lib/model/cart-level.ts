import { type CartStep, type LoadBook, stepsByCart } from './load-book.ts';

/** What a dump is: so many times its weight, and so much more at each dump or at the first of a cart load, kg. */
export interface Difference {
	share: number;
	dump_kg: number;
	load_kg: number;
}

/** No difference: every dump as it was weighed. */
export const AS_WEIGHED: Difference = { share: 1, dump_kg: 0, load_kg: 0 };

/** Offloads after which the cart was empty, since it was empty before: what was dumped and unloaded, and how far apart they are, kg. */
interface Emptied {
	/** Indices into LoadBook.offloads. */
	offloads: number[];
	dumped_kg: number;
	unloaded_kg: number;
	apart_kg: number;
}

/** An offload with the dumps since the one before it, as weighed: how many, their sum, and what they lack, kg. */
export interface CartLoad {
	dumps: number;
	dumped_kg: number;
	lacks_kg: number;
}

/**
 * Follows the carts' levels with a difference added to the dumps. A cart is empty where its dumps and offloads come to the same
 * within `same(kg)`; what they have more stays in it for the next truck.
 *
 * @param carts - the steps of each
 */
export function throughCarts(
	book: LoadBook,
	{ share, dump_kg, load_kg }: Difference,
	same: (kg: number) => number,
	carts: readonly (readonly CartStep[])[] = stepsByCart(book),
): { loads: CartLoad[]; emptied: Emptied[] } {
	const loads: CartLoad[] = [];
	const emptied: Emptied[] = [];
	for (const steps of carts) {
		let since = nothing();
		let own = nothing();
		steps.forEach(({ dump, offload }, k) => {
			if (dump >= 0) {
				const first = startsLoad(steps, k);
				const kg = book.dumps[dump]!.weight_kg;
				const more = share * kg + dump_kg + (first ? load_kg : 0);
				for (const sum of [since, own]) {
					sum.dumped_kg += kg;
					sum.level_kg += more;
					sum.in_kg += more;
					sum.dumps++;
				}
				return;
			}
			const kg = book.offloads[offload]!.weight_kg;
			for (const sum of [since, own]) {
				sum.level_kg -= kg;
				sum.unloaded_kg += kg;
				sum.offloads.push(offload);
			}
			loads.push({ dumps: own.dumps, dumped_kg: own.dumped_kg, lacks_kg: kg - own.dumped_kg });
			// Where an offload comes to its own dumps, nothing was left in the cart before it: a weight there is wrong.
			const apart_kg = Math.abs(own.level_kg);
			if (apart_kg <= same(own.in_kg) && apart_kg < Math.abs(since.level_kg)) since = own;
			const { offloads, dumped_kg, unloaded_kg, level_kg, in_kg } = since;
			const empty = Math.abs(level_kg) <= same(in_kg);
			if (empty) emptied.push({ offloads, dumped_kg, unloaded_kg, apart_kg: Math.abs(level_kg) });
			own = nothing();
			// The truck is full: what is left in the cart goes into the next one.
			if (empty || level_kg < 0) since = nothing();
		});
	}
	return { loads, emptied };
}

/**
 * What cart loads lack for each of something that they have: all together, and those at the quartiles, since where weights are
 * wrong or missing, the sums are no usual load's.
 */
export function lacking(loads: readonly CartLoad[], has: (load: CartLoad) => number): number[] {
	const filled = loads.filter((l) => l.dumps > 0);
	const sum = (of: (load: CartLoad) => number) => filled.reduce((total, l) => total + of(l), 0);
	const each = filled.map((l) => l.lacks_kg / has(l)).sort((a, b) => a - b);
	const quartiles = [0.25, 0.5, 0.75].map((share) => each[Math.floor(share * each.length)] ?? Number.NaN);
	return [sum((l) => l.lacks_kg) / sum(has), ...quartiles];
}

const nothing = () => ({ offloads: [] as number[], dumps: 0, dumped_kg: 0, unloaded_kg: 0, level_kg: 0, in_kg: 0 });

/** Whether a cart load begins with this step: the first dump, or one after an offload. */
export function startsLoad(steps: readonly CartStep[], k: number): boolean {
	return steps[k]!.dump >= 0 && (k === 0 || steps[k - 1]!.dump < 0);
}
