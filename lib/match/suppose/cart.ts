import { type LoadBook, stepsByCart } from '../../model/index.ts';
import type { Explained } from '../explained.ts';
import { weight } from '../outcome/words.ts';
import type { Supposition } from './supposition.ts';

/** Weights saved too early, or a zero that is off: one habit of one cart. */
const SHORT = 5;
/** What a dump may lack by such a habit, kg: less is scale error, more is a dump of its own. */
const LEAST_KG = 80;
const MOST_KG = 900;
/** Shares of the offloads after which the cart is empty by its own weights, as written and with the habit allowed for. */
const AS_WRITTEN = 0.35;
const ALLOWED_FOR = 0.6;
/** Fewer offloads show no habit. */
const ENOUGH = 4;

/** What each dump lacks against what the cart gave to the trucks; null where its own weights close. */
export interface Shortage {
	kg: number;
	/** Every dump, or only the first one of each cart load. */
	of: 'every' | 'first';
}

/**
 * The same shortage at every dump, or once per cart load: weights saved before the auger stopped, or a zero that is off.
 * The offloads show it, and tell it from a dump that was not saved: with it allowed for the cart comes out empty again
 * and again.
 */
export function shortage(book: LoadBook): Shortage | null {
	const { offloads } = book;
	if (offloads.length < ENOUGH || book.dumps.length < ENOUGH) return null;
	const lacks = offloads.reduce((sum, o) => sum + o.weight_kg, 0) - book.dumps.reduce((sum, d) => sum + d.weight_kg, 0);
	const plain = closing(book, null);
	if (plain.share > AS_WRITTEN) return null;
	let best: Shortage | null = null;
	let least = Number.POSITIVE_INFINITY;
	for (const [of, count] of [
		['every', book.dumps.length],
		['first', plain.loads],
	] as const) {
		const kg = lacks / count;
		if (!(Math.abs(kg) > LEAST_KG && Math.abs(kg) < MOST_KG)) continue;
		const { share, miss_kg } = closing(book, { kg, of });
		if (share > ALLOWED_FOR && miss_kg < least) {
			least = miss_kg;
			best = { kg, of };
		}
	}
	return best;
}

/** How often the cart is empty after an offload, by how much it then misses, and how many loads it had. */
function closing(book: LoadBook, short: Shortage | null): { share: number; miss_kg: number; loads: number } {
	let closed = 0;
	let loads = 0;
	let miss = 0;
	for (const steps of stepsByCart(book)) {
		let level = 0;
		let through = 0;
		let first = true;
		for (const { dump, offload } of steps) {
			if (dump >= 0) {
				const more = short && (short.of === 'every' || first) ? short.kg : 0;
				level += (book.dumps[dump]?.weight_kg as number) + more;
				through += book.dumps[dump]?.weight_kg as number;
				if (first) loads++;
				first = false;
				continue;
			}
			level -= book.offloads[offload]?.weight_kg as number;
			// Rounding and reading errors of some weights.
			if (Math.abs(level) < 60 + 0.004 * through) {
				closed++;
				miss += Math.abs(level);
				level = 0;
			}
			if (level < 500) first = true;
			if (level < 0) level = 0;
			through = 0;
		}
	}
	return { share: closed / book.offloads.length, miss_kg: miss / closed, loads };
}

/** The weights as they would be without the habit. */
export function shortDumps({ input }: Explained): Supposition[] {
	const { book, reference } = input;
	const found = shortage(book);
	if (!found) return [];
	// Where tickets have checked the dumps themselves, their mean shortage is in the ratio already.
	const { sides } = reference;
	if (sides && Math.abs(reference.ratio - sides.dumps) < 1e-9) return [];
	const firsts = new Set<number>();
	for (const steps of stepsByCart(book)) {
		let first = true;
		for (const { dump } of steps) {
			if (dump < 0) first = true;
			else {
				if (first) firsts.add(dump);
				first = false;
			}
		}
	}
	const dumps = book.dumps.map((d, i) =>
		found.of === 'every' || firsts.has(i) ? { ...d, weight_kg: d.weight_kg + found.kg } : d,
	);
	const which = found.of === 'every' ? 'Each dump' : 'The first dump of each cart load';
	const less = found.kg > 0 ? 'less' : 'more';
	return [
		{
			input: { ...input, book: { ...book, dumps } },
			price: SHORT,
			caution: `${which} weighs about ${weight(Math.abs(found.kg))} ${less} than the cart gave to the trucks. Possible causes: weights saved before the auger stopped, or a zero of the cart's scale that is off. The factors allow for it. Check when weights are saved.`,
			offsets: [],
			undo() {},
		},
	];
}
