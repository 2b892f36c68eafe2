import { CART } from '../../model/index.ts';
import { effectiveFreedom, halfWidth, median, type Part, ratioOfSums, tQuantile } from '../../stats/index.ts';
import type { Book } from '../book.ts';
import { find, kept } from '../kept.ts';
import { ledger } from '../ledger/ledger.ts';

/** One truckload on both scales. */
export interface LoadPair {
	load: string;
	/** Cart weight out of the cart, and into it (null where the two do not match). */
	cart_kg: number;
	dumps_kg: number | null;
	ticket_kg: number | null;
	used: boolean;
	/** Reason why it is not used. */
	reason: null | 'no ticket' | 'straight' | 'two carts' | 'no offload' | 'ticket over' | 'ticket under';
}

/** A cart's scale compared with tickets, over one season. */
export interface ScaleRatio {
	/** Ticket ÷ cart: Σ ticket ÷ Σ cart. 1 without tickets. */
	ratio: number;
	interval: [number, number];
	/** Components of its relative uncertainty, from which intervals are computed. */
	parts: Part[];
	/** Truckloads used. */
	n: number;
	source: 'tickets' | 'limit';
	/** Rectangular limits assumed without tickets, relative. */
	limit_rel: number;
	pairs: LoadPair[];
}

/** Fewer truckloads than this give a caution (three to five: common practice, no source). */
export const ENOUGH_LOADS = CART.enoughLoads;

/**
 * The cart's scale compared with tickets: a ratio of sums over truckloads weighed on both, with Student's t and the
 * certified scale's own tolerance. One load shows no scatter, so a usual value is used for it. Without tickets the
 * ratio is 1 within the scale's limits.
 *
 * @param season - loads with grain of that season only; null = all
 */
export function scaleRatio(book: Book, cart: string, season: number | null = null): ScaleRatio {
	const l = ledger(book);
	const pairs: LoadPair[] = [];
	for (const load of l.loads.values()) {
		if (!load.carts.includes(cart) && !(load.carts.length === 0 && load.tickets.length > 0)) continue;
		if (season !== null && !ofSeason(book, load.holds, season)) continue;
		const reason =
			load.ticket_kg === null
				? 'no ticket'
				: load.straight
					? 'straight'
					: load.carts.length > 1
						? 'two carts'
						: load.cart_kg <= 0
							? 'no offload'
							: null;
		pairs.push({
			load: load.id,
			cart_kg: load.cart_kg,
			dumps_kg: load.dumps_kg,
			ticket_kg: load.ticket_kg,
			used: reason === null,
			reason,
		});
	}
	setOddAside(pairs);
	const used = pairs.filter((p) => p.used);
	const limit_rel = (find(book, 'cart', cart)?.v.limit_pct ?? CART.unchecked_rel * 100) / 100;
	if (used.length === 0) {
		const parts: Part[] = [{ kind: 'rectangular', half: limit_rel }];
		const half = halfWidth(parts);
		return { ratio: 1, interval: [1 - half, 1 + half], parts, n: 0, source: 'limit', limit_rel, pairs };
	}
	const r = ratioOfSums(
		used.map((p) => p.ticket_kg!),
		sidesOf(used),
	);
	const [u, df] = r.n > 1 ? [r.u / r.ratio, r.df] : [CART.load_rel, Infinity];
	const u_limit = CART.certified_rel / Math.sqrt(3);
	// Here the limits are the small part, so Student's t on effective degrees of freedom applies (JCGM 100:2008, G.4).
	const half = r.ratio * Math.hypot(u, u_limit) * tQuantile(0.975, effectiveFreedom([u, u_limit], [df, Infinity]));
	return {
		ratio: r.ratio,
		interval: [r.ratio - half, r.ratio + half],
		parts: [
			{ kind: 't', u, df },
			{ kind: 'rectangular', half: CART.certified_rel },
		],
		n: r.n,
		source: 'tickets',
		limit_rel,
		pairs,
	};
}

/**
 * The cart's side of each load. The grain was weighed twice, coming in and going out. Where that holds for every load
 * and the two differ by no more than chance, their mean has less scatter; otherwise the dumps count, since factors are
 * based on them.
 */
function sidesOf(used: readonly LoadPair[]): number[] {
	if (used.some((x) => x.dumps_kg === null)) return used.map((p) => p.cart_kg);
	const dumpsAlone = apart(used);
	return used.map((p) => (dumpsAlone ? p.dumps_kg! : (p.cart_kg + p.dumps_kg!) / 2));
}

/** Whether dumps and offloads of the same grain differ by more than chance. */
export function apart(used: readonly LoadPair[]): boolean {
	const both = used.filter((p) => p.dumps_kg !== null);
	if (both.length < 3) return false;
	const r = ratioOfSums(
		both.map((p) => p.dumps_kg!),
		both.map((p) => p.cart_kg),
	);
	const off = Math.abs(r.ratio - 1);
	return off > 0.0005 && off > (tQuantile(0.975, r.df) * r.u) / r.ratio;
}

/** A load far from the median of the others does not show a scale error: other grain was added, or some is missing. */
function setOddAside(pairs: LoadPair[]): void {
	const used = pairs.filter((p) => p.used);
	const middle = used.length >= 3 ? median(used.map((p) => p.ticket_kg! / p.cart_kg)) : 1;
	const limit = used.length >= 3 ? 0.02 : 0.15;
	for (const p of used) {
		const off = p.ticket_kg! / p.cart_kg / middle - 1;
		if (Math.abs(off) <= limit) continue;
		p.used = false;
		p.reason = off > 0 ? 'ticket over' : 'ticket under';
	}
}

function ofSeason(book: Book, holds: readonly { dump: string }[], season: number): boolean {
	return holds.some((p) => find(book, 'field', find(book, 'dump', p.dump)?.v.field ?? null)?.v.season === season);
}

/** Ratios of all carts, each over the season; includes voided carts that still have grain on them. */
export function scaleRatios(book: Book, season: number | null = null): Map<string, ScaleRatio> {
	const carts = new Set(kept(book, 'cart').map((c) => c.id));
	for (const w of ledger(book).weighings) carts.add(w.cart);
	return new Map([...carts].map((c) => [c, scaleRatio(book, c, season)]));
}
