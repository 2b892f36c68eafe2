import type { Book } from './book.ts';
import type { Entry, Kind } from './entries/entry.ts';
import { following } from './entries/following.ts';
import { find, inOrder, keptAll } from './kept.ts';
import { ticketNet_kg } from './values.ts';
import { type Move, rewalk, type Walk, walk } from './walk.ts';
import type { Portion, Weighing } from './weighing.ts';

export type { Portion, Weighing } from './weighing.ts';

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

/** The ledger with the state needed to extend it. */
interface Kept_ extends Ledger {
	walks: ReadonlyMap<string, Walk>;
}

/**
 * Follows every cart's scale through time. Where a reading was keyed, the net is its difference from the reading
 * before; where a net was keyed, the reading continues from there. Editing or voiding one row therefore moves its
 * neighbors as the scale itself would have. When a book grows by a few entries, only the walks that they affect are
 * computed again.
 */
export const ledger: (book: Book) => Ledger = following<Kept_>(freshLedger, grownLedger);

function freshLedger(book: Book): Kept_ {
	const byCart = new Map<string, Move[]>(keptAll(book, 'cart').map((c) => [c.id, []]));
	for (const m of [...keptAll(book, 'dump'), ...keptAll(book, 'offload'), ...keptAll(book, 'zero')].sort(inOrder)) {
		const list = byCart.get(m.v.cart);
		if (list) list.push(m);
		else byCart.set(m.v.cart, [m]);
	}
	const walks = new Map([...byCart].map(([cart, moves]) => [cart, walk(moves, sizeOf(book, cart))]));
	const weighings = [...walks.values()].flatMap((w) => w.weighings);
	return put(walks, weighings, new Map(weighings.map((w) => [w.id, w])), loadsOf(book, weighings, null, NOTHING));
}

const NOTHING: ReadonlySet<string> = new Set();

function put(
	walks: ReadonlyMap<string, Walk>,
	weighings: Weighing[],
	byId: ReadonlyMap<string, Weighing>,
	loads: ReadonlyMap<string, LoadNow>,
): Kept_ {
	const carts = new Map([...walks].map(([cart, w]) => [cart, { cart, level_kg: w.level_kg, holds: w.holds }]));
	return { walks, weighings, byId, carts, loads };
}

const sizeOf = (book: Book, cart: string): number | null => {
	const c = find(book, 'cart', cart);
	return c && !c.thing.struck ? c.v.size_kg : null;
};

function grownLedger(book: Book, before: Kept_, _was: Book, added: readonly Entry[]): Kept_ | null {
	const changed = new Map<string, Kind>();
	for (const e of added) changed.set(e.thing, e.kind);
	const touched = new Set<string>();
	const moved = new Map<string, { out: Set<string>; in: Move[] }>();
	const at = (cart: string) => {
		let m = moved.get(cart);
		if (!m) moved.set(cart, (m = { out: new Set(), in: [] }));
		return m;
	};
	for (const [id, kind] of changed) {
		// A cart of another capacity, added or removed, is rare enough to start over.
		if (kind === 'cart') return null;
		if (kind === 'load' || kind === 'ticket') touched.add(id);
		if (kind !== 'dump' && kind !== 'offload' && kind !== 'zero') continue;
		const old = before.byId.get(id);
		if (old) at(old.cart).out.add(id);
		const now = find(book, kind, id) as Move | null;
		if (now && !now.thing.struck) at(now.v.cart).in.push(now);
	}
	const walks = new Map(before.walks);
	const byId = new Map(before.byId);
	for (const [cart, m] of moved) {
		const old = before.walks.get(cart);
		if (!old) return null;
		const next = rewalk(old, m.out, m.in, sizeOf(book, cart));
		if (next.walk.moves.length === 0 && sizeless(book, cart)) return null;
		walks.set(cart, next.walk);
		for (const id of m.out) if (byId.get(id)?.cart === cart) byId.delete(id);
		for (const w of next.fresh) byId.set(w.id, w);
		for (const w of next.fresh) if (w.load !== null) touched.add(w.load);
		for (const w of next.gone) if (w.load !== null) touched.add(w.load);
	}
	const weighings = moved.size === 0 ? before.weighings : [...walks.values()].flatMap((w) => w.weighings);
	if (touched.size === 0) return put(walks, weighings, byId, before.loads);
	for (const t of [...touched]) {
		if (changed.get(t) !== 'ticket') continue;
		const now = find(book, 'ticket', t)?.v.load ?? null;
		if (now !== null) touched.add(now);
		for (const l of before.loads.values()) if (l.tickets.includes(t)) touched.add(l.id);
	}
	return put(walks, weighings, byId, loadsOf(book, weighings, before.loads, touched));
}

/** A cart that exists only because rows name it. */
const sizeless = (book: Book, cart: string): boolean => !keptAll(book, 'cart').some((c) => c.id === cart);

/** Contents of the truckloads; those not affected stay as they were. */
function loadsOf(
	book: Book,
	weighings: readonly Weighing[],
	before: ReadonlyMap<string, LoadNow> | null,
	touched: ReadonlySet<string>,
): Map<string, LoadNow> {
	const loads = new Map<string, LoadNow>();
	const fresh = new Map<string, LoadNow>();
	for (const { id } of keptAll(book, 'load')) {
		const old = touched.has(id) ? undefined : before?.get(id);
		const l = old ?? emptyLoad(id);
		loads.set(id, l);
		if (!old) fresh.set(id, l);
	}
	const parts = new Map<string, Portion[]>();
	for (const w of weighings) {
		const load = w.kind === 'offload' && w.load !== null ? fresh.get(w.load) : undefined;
		if (!load) continue;
		load.cart_kg += w.net_kg;
		if (!load.carts.includes(w.cart)) load.carts.push(w.cart);
		load.dumps_kg = load.dumps_kg === null || w.dumps_kg === null ? null : load.dumps_kg + w.dumps_kg;
		const held = parts.get(load.id);
		if (held) held.push(...w.took);
		else parts.set(load.id, [...w.took]);
	}
	for (const [id, held] of parts) fresh.get(id)!.holds = joined(held);
	for (const t of keptAll(book, 'ticket')) {
		const load = t.v.load === null ? undefined : fresh.get(t.v.load);
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
