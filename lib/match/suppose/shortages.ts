import { type CartStep, type LoadBook, stepsByCart } from '../../model/index.ts';
import { massInBoth } from '../../units/index.ts';
import type { Explained } from '../explained.ts';
import type { MatchInput } from '../problem/input.ts';
import type { Supposition } from './supposition.ts';

/** Prior cost of weights that all lack the same, nats, and what each offload that it explains is worth where tickets bear the offloads out. */
const SHORT = 5;
const EXPLAINED = 3;
/** Range of what a dump may lack, kg: less is scale error, more is a dump of its own. */
const LEAST_KG = 80;
const MOST_KG = 900;
/** Share of the offloads after which the cart is empty by its own weights: at most as written, at least with the shortage added. */
const AS_WRITTEN = 0.35;
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
			const plain = closing(book, part, null);
			if (plain.offloads < ENOUGH || plain.closed > AS_WRITTEN * plain.offloads) continue;
			const kg = plain.lacks_kg / (of === 'every' ? plain.dumps : plain.loads);
			if (!(Math.abs(kg) > LEAST_KG && Math.abs(kg) < MOST_KG)) continue;
			const now = closing(book, part, { kg, of });
			const more = now.closed - plain.closed;
			// A part of the log must close more than the whole.
			if (
				now.closed <= Math.max(ALLOWED_FOR * now.offloads, 2 * plain.closed) ||
				more < closed ||
				(more === closed && now.miss_kg >= least)
			)
				continue;
			closed = more;
			least = now.miss_kg;
			best = { kg, of, from, to, closes: more };
			if (from === 0 && to === most) break;
		}
		return best ? [best] : [];
	});
}

/** Whether a cart load begins with this step: the first dump, or one after an offload. */
function startsLoad(steps: readonly CartStep[], k: number): boolean {
	return steps[k]!.dump >= 0 && (k === 0 || steps[k - 1]!.dump < 0);
}

/** How many offloads empty the cart, mean difference from empty at these, kg, and what the part of the cart log holds. */
function closing(book: LoadBook, carts: readonly (readonly CartStep[])[], short: Pick<Shortage, 'kg' | 'of'> | null) {
	const sum = { closed: 0, miss_kg: 0, loads: 0, dumps: 0, offloads: 0, lacks_kg: 0 };
	for (const steps of carts) {
		let level = 0;
		let through = 0;
		for (const [k, { dump, offload }] of steps.entries()) {
			if (dump >= 0) {
				const first = startsLoad(steps, k);
				const more = short && (short.of === 'every' || first) ? short.kg : 0;
				const kg = book.dumps[dump]!.weight_kg;
				level += kg + more;
				through += kg;
				sum.lacks_kg -= kg;
				sum.dumps++;
				if (first) sum.loads++;
				continue;
			}
			const kg = book.offloads[offload]!.weight_kg;
			level -= kg;
			sum.lacks_kg += kg;
			sum.offloads++;
			// Empty within rounding and reading errors.
			if (Math.abs(level) < 60 + 0.004 * through) {
				sum.closed++;
				sum.miss_kg += Math.abs(level);
				level = 0;
			}
			if (level < 0) level = 0;
			through = 0;
		}
	}
	sum.miss_kg /= sum.closed;
	return sum;
}

/** The field with a shortage added to its dumps: which kind it is, the logs tell. */
export function shortDumps({ input }: Explained): Supposition[] {
	const { sides, ratio } = input.reference;
	// Where tickets check the dumps themselves, the mean shortage is in the cart ratio already.
	if (sides && Math.abs(ratio - sides.dumps) < Math.abs(ratio - sides.offloads)) return [];
	const found = shortages(input.book);
	// Which of them it is, the logs tell better than one offload more or less.
	const closes = sides ? Math.min(...found.map((f) => f.closes)) : 0;
	return found.map((f) => withShortage(input, f, EXPLAINED * closes));
}

function withShortage(input: MatchInput, found: Shortage, explained: number): Supposition {
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
	return {
		input: { ...input, book: { ...book, dumps } },
		price: SHORT + (since || until ? Math.log(parts) : 0) - explained,
		caution: `${which} weighs about ${massInBoth(Math.abs(found.kg))} ${less} than the cart gave to the trucks. Possible causes: weights saved before the auger stopped, or a zero of the cart's scale that is off. The factors allow for it. Check when weights are saved.`,
		offsets: [],
		undo(match) {
			match.supposed_kg = dumps.map((d) => d.weight_kg);
		},
	};
}
