import { remembered } from '../../model/remembered.ts';
import type { Book } from '../book.ts';
import { following } from '../entries/following.ts';
import { inOrder, keptAll } from '../kept.ts';
import { ticketNet_kg } from '../values.ts';
import { type Move, type Portion, type Walk, type Weighing, walk } from './walk.ts';

export type { Portion, Weighing } from './walk.ts';

/** Contents of a cart at the end of the book, by dump. */
export interface CartNow {
	cart: string;
	level_kg: number;
	holds: Portion[];
}

/** What went onto a truckload, by the carts' weights. */
export interface LoadNow {
	id: string;
	/** From carts, by what they showed when it left them. */
	cart_kg: number;
	/** The same grain as weighed when it was dumped into the carts; null where the two sides do not match. */
	dumps_kg: number | null;
	/** Carts that unloaded onto it. */
	carts: string[];
	/** By dump. */
	holds: Portion[];
	/** Certified net weight, the sum of its tickets; null = none yet. */
	ticket_kg: number | null;
	tickets: string[];
	/** It also took, or only took, grain directly from a combine. */
	straight: boolean;
}

/** The book as movements of grain. */
export interface Ledger {
	/** By cart, then time. */
	weighings: Weighing[];
	byId: ReadonlyMap<string, Weighing>;
	carts: ReadonlyMap<string, CartNow>;
	loads: ReadonlyMap<string, LoadNow>;
}

/**
 * Follows every cart's scale through time. Where a reading was keyed, the net is its difference from the reading
 * before; where a net was keyed, the reading continues from there. Editing or voiding one row therefore moves its
 * neighbors as the scale itself would have. When a book grows by a few entries, each walk resumes before the first of
 * them.
 */
export const ledger: (book: Book) => Ledger = following<Ledger & { walks: ReadonlyMap<string, Walk> }>(
	(book) => followCarts(book, new Map()),
	(book, before) => followCarts(book, before.walks),
);

function followCarts(book: Book, before: ReadonlyMap<string, Walk>) {
	const walks = new Map<string, Walk>();
	for (const [cart, moves] of movesByCart(book)) {
		const size_kg = keptAll(book, 'cart').find((c) => c.id === cart)?.v.size_kg ?? null;
		walks.set(cart, walk(moves, size_kg, before.get(cart) ?? null));
	}
	const weighings = ([] as Weighing[]).concat(...[...walks.values()].map((w) => w.weighings));
	const byId = new Map<string, Weighing>();
	for (const w of weighings) byId.set(w.id, w);
	const carts = new Map([...walks].map(([cart, { level_kg, holds }]) => [cart, { cart, level_kg, holds }]));
	return { walks, weighings, byId, carts, loads: loadsOf(book, weighings) };
}

/** What moved the scale of each cart, in order of time: carts of the book first, then those that only rows name. */
function movesByCart(book: Book): Map<string, Move[]> {
	const byCart = new Map<string, Move[]>(keptAll(book, 'cart').map((c) => [c.id, []]));
	for (const m of [...keptAll(book, 'dump'), ...keptAll(book, 'offload'), ...keptAll(book, 'zero')].sort(inOrder)) {
		remembered(byCart, m.v.cart, () => []).push(m);
	}
	return byCart;
}

/** Contents of the truckloads. */
function loadsOf(book: Book, weighings: readonly Weighing[]): Map<string, LoadNow> {
	const loads = new Map(keptAll(book, 'load').map(({ id }) => [id, emptyLoad(id)]));
	for (const w of weighings) {
		const load = w.kind === 'offload' && w.load !== null ? loads.get(w.load) : undefined;
		if (!load) continue;
		load.cart_kg += w.net_kg;
		if (!load.carts.includes(w.cart)) load.carts.push(w.cart);
		load.dumps_kg = load.dumps_kg === null || w.dumps_kg === null ? null : load.dumps_kg + w.dumps_kg;
		load.holds = load.holds.length === 0 ? w.took : joined([...load.holds, ...w.took]);
	}
	for (const t of keptAll(book, 'ticket')) {
		const load = t.v.load === null ? undefined : loads.get(t.v.load);
		if (!load) continue;
		load.tickets.push(t.id);
		const net = ticketNet_kg(t.v);
		if (net !== null) load.ticket_kg = (load.ticket_kg ?? 0) + net;
		if (t.v.combine !== null) load.straight = true;
	}
	return loads;
}

const emptyLoad = (id: string): LoadNow => ({
	id,
	cart_kg: 0,
	dumps_kg: 0,
	carts: [],
	holds: [],
	ticket_kg: null,
	tickets: [],
	straight: false,
});

/** Portions of the same dump added up, in order of first appearance. */
export function joined(portions: readonly Portion[]): Portion[] {
	const by = new Map<string, number>();
	for (const p of portions) by.set(p.dump, (by.get(p.dump) ?? 0) + p.kg);
	return [...by].map(([dump, kg]) => ({ dump, kg }));
}
