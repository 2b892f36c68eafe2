import { type LoadBook, stepsByCart } from '../../model/index.ts';
import type { Explained } from '../explained.ts';
import { weight } from '../outcome/words.ts';
import type { Supposition } from './supposition.ts';

/** Prior cost of weights that all lack the same, nats. */
const SHORT = 5;
/** Range of what a dump may lack, kg: less is scale error, more is a dump of its own. */
const LEAST_KG = 80;
const MOST_KG = 900;
/** Share of the offloads after which the cart is empty by its own weights: at most as written, at least with the shortage added. */
const AS_WRITTEN = 0.35;
const ALLOWED_FOR = 0.6;
/** Fewest offloads and dumps. */
const ENOUGH = 4;

/** What each dump lacks relative to the offloads. */
export interface Shortage {
	kg: number;
	/** Every dump, or only the first one of each cart load. */
	of: 'every' | 'first';
}

/**
 * Finds a shortage that is the same at every dump or once per cart load, by weights saved before the auger stopped or a zero
 * that is off. Unlike with an unsaved dump, the cart is then empty after most offloads once the shortage is added. null
 * where there is none.
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

/** Share of offloads after which the cart is empty, mean difference from empty at these, kg, and number of cart loads. */
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
			// Empty within rounding and reading errors.
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

/** The field with the shortage added to its dumps. */
export function shortDumps({ input }: Explained): Supposition[] {
	const { book, reference } = input;
	const found = shortage(book);
	if (!found) return [];
	// Where tickets check the dumps themselves, the mean shortage is in the cart ratio already.
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
