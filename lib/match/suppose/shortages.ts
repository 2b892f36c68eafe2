import {
	AS_WEIGHED,
	type CartStep,
	type Difference,
	type LoadBook,
	lacking,
	type Reference,
	startsLoad,
	stepsByCart,
	throughCarts,
} from '../../model/index.ts';
import { massInBoth } from '../../units/index.ts';
import type { Explained } from '../explained.ts';
import type { MatchInput } from '../problem/input.ts';
import { type Supposition, useWeights } from './supposition.ts';

/** Prior cost of weights that all lack the same, nats, and what each offload that it explains is worth where tickets bear the offloads out. */
export const SHORT = 5;
const EXPLAINED = 3;
/** Range of what a dump may lack, kg: less is scale error, more is a dump of its own. */
const LEAST_KG = 80;
const MOST_KG = 900;
/** Share of the offloads after which the cart is empty by its own weights: at most as written, at least with the shortage added. */
export const AS_WRITTEN = 0.35;
const ALLOWED_FOR = 0.4;
/** Fewest offloads and dumps. */
const ENOUGH = 2;

/** What each dump lacks relative to the offloads, within a part of the cart log: all of it, from a load on, or up to one. */
export interface Shortage {
	kg: number;
	/** Every dump, or only the first one of each cart load. */
	of: 'every' | 'first';
	/** Places of that part's first step and the one after its last among the cart's steps. */
	from: number;
	to: number;
	/** Offloads after which the cart is empty with it and not as written. */
	closes: number;
}

/**
 * Finds shortages that are the same at every dump or once per cart load, by weights saved before the auger stopped or a zero
 * that is off: the best of either kind. Unlike with an unsaved dump, the cart is then empty after most offloads once the
 * shortage is added.
 */
export function shortages(book: LoadBook): Shortage[] {
	const { offloads } = book;
	if (offloads.length < ENOUGH || book.dumps.length < ENOUGH) return [];
	const steps = stepsByCart(book);
	const starts = steps.length > 1 ? [] : steps[0]!.flatMap((_, k) => (k > 0 && startsLoad(steps[0]!, k) ? [k] : []));
	const most = Math.max(...steps.map((s) => s.length));
	const parts = [[0, most], ...starts.flatMap((k) => [[k, most] as const, [0, k] as const])] as [number, number][];
	return (['every', 'first'] as const).flatMap((of) => {
		let best: Shortage | null = null;
		let closed = 0;
		let least = Infinity;
		for (const [from, to] of parts) {
			const part = steps.map((s) => s.slice(from, to));
			const plain = closing(book, part, AS_WEIGHED);
			if (plain.loads.length < ENOUGH || plain.closed > AS_WRITTEN * plain.loads.length) continue;
			for (const kg of new Set(lacking(plain.loads, of === 'every' ? (l) => l.dumps : () => 1))) {
				if (!(Math.abs(kg) > LEAST_KG && Math.abs(kg) < MOST_KG)) continue;
				const now = closing(book, part, { ...AS_WEIGHED, [of === 'every' ? 'dump_kg' : 'load_kg']: kg });
				const more = now.closed - plain.closed;
				// A part of the log must close more than the whole.
				if (
					now.closed <= Math.max(ALLOWED_FOR * now.loads.length, 2 * plain.closed) ||
					more < closed ||
					(more === closed && now.miss_kg >= least)
				)
					continue;
				closed = more;
				least = now.miss_kg;
				best = { kg, of, from, to, closes: more };
			}
			if (best && from === 0 && to === most) break;
		}
		return best ? [best] : [];
	});
}

/** How many offloads empty the cart, mean difference from empty at these, kg, and what the part of the cart log holds. */
function closing(book: LoadBook, carts: readonly (readonly CartStep[])[], difference: Difference) {
	const { emptied, loads } = throughCarts(book, difference, within, carts);
	const miss_kg = emptied.reduce((total, e) => total + e.apart_kg, 0) / emptied.length;
	return { loads, closed: emptied.length, miss_kg };
}

/** Rounding and reading errors of this mass, kg. */
export const within = (kg: number): number => 60 + 0.004 * kg;

/** The field with a shortage added to its dumps: which kind it is, the logs tell. */
export function shortDumps({ input }: Explained): Supposition[] {
	if (dumpsChecked(input.reference)) return [];
	const { sides } = input.reference;
	const found = shortages(input.book);
	// Which of them it is, the logs tell better than one offload more or less.
	const closes = sides ? Math.min(...found.map((f) => f.closes)) : 0;
	return found.map((f) => withShortage(input, f, EXPLAINED * closes));
}

/** Whether tickets check the dumps themselves: then the mean shortage is in the cart ratio already. */
export const dumpsChecked = ({ sides, ratio }: Reference): boolean =>
	!!sides && Math.abs(ratio - sides.dumps) < Math.abs(ratio - sides.offloads);

export function withShortage(input: MatchInput, found: Shortage, explained: number): Supposition {
	const { book } = input;
	const short = new Set<number>();
	let [parts, until, since] = [0, '', ''];
	for (const steps of stepsByCart(book)) {
		steps.forEach(({ dump }, k) => {
			if (dump < 0) return;
			const first = startsLoad(steps, k);
			if (first) parts += 2;
			const id = book.dumps[dump]!.id;
			if (k === found.from && k > 0) since = ` from ${id} on`;
			if (k === found.to) until = ` before ${id}`;
			if (k >= found.from && k < found.to && (found.of === 'every' || first)) short.add(dump);
		});
	}
	const dumps = book.dumps.map((d, i) => (short.has(i) ? { ...d, weight_kg: d.weight_kg + found.kg } : d));
	const which = `${found.of === 'every' ? 'Each dump' : 'The first dump of each cart load'}${since}${until}`;
	const less = found.kg > 0 ? 'less' : 'more';
	const supposed = { ...input, book: { ...book, dumps } };
	return {
		input: supposed,
		price: SHORT + (since || until ? Math.log(parts) : 0) - explained,
		caution: `${which} weighs about ${massInBoth(Math.abs(found.kg))} ${less} than the cart gave to the trucks. Possible causes: weights saved before the auger stopped, or a zero of the cart's scale that is off. The factors allow for it. Check when weights are saved.`,
		undo: useWeights(supposed),
	};
}
