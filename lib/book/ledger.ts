import type { Book } from './book.ts';
import { inOrder, type Kept, kept, ticketNet_kg } from './values.ts';

/** Grain of one dump, kilograms as the cart indicated. An empty dump id: grain that no dump in the book tells of. */
export interface Portion {
	dump: string;
	kg: number;
}

/** One movement on a cart's scale in order of time. */
export interface Weighing {
	id: string;
	kind: 'dump' | 'offload' | 'zero';
	cart: string;
	time_s: number;
	/** What the scale read before and after. */
	before_kg: number;
	after_kg: number;
	/** Grain moved: into the cart for a dump, out of it for an offload, nothing for a zeroing. Never below 0. */
	net_kg: number;
	/** What is odd about it, as a word for the screens' wording; empty where nothing is. */
	odd: ('no weight' | 'wrong way' | 'below nothing' | 'above size')[];
	/** Offloads: what was taken, by dump, the cart's content being taken as mixed. */
	took: Portion[];
	/** Offloads: the dumps behind it, as the cart weighed them when they came in; null where both sides do not meet. */
	dumps_kg: number | null;
	load: string | null;
}

export interface CartNow {
	cart: string;
	level_kg: number;
	holds: Portion[];
}

/** A cart's state while its rows are followed: since it was last empty, what came in and what went out. */
interface Following extends CartNow {
	dumped_kg: number;
	unloaded_kg: number;
	open: Weighing[];
}

export interface LoadNow {
	id: string;
	/** From carts, as indicated when it left them. */
	cart_kg: number;
	/** The same grain as indicated when it was dumped into them; null where both sides do not meet. */
	dumps_kg: number | null;
	/** Carts that gave to it. */
	carts: string[];
	/** By dump. */
	holds: Portion[];
	/** Certified net, all its tickets; null = none yet. */
	ticket_kg: number | null;
	tickets: string[];
	/** It also took, or only took, grain straight from a combine. */
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

const remembered = new WeakMap<Book, Ledger>();

/**
 * Follows every cart's scale through time. Where a reading was keyed, the net is its difference to the reading
 * before; where a net was keyed, the reading goes on from there. Mending or striking one row therefore moves its
 * neighbours as the scale itself would have.
 */
export function ledger(book: Book): Ledger {
	const known = remembered.get(book);
	if (known) return known;
	const loads = new Map<string, LoadNow>();
	for (const l of kept(book, 'load'))
		loads.set(l.id, {
			id: l.id,
			cart_kg: 0,
			dumps_kg: 0,
			carts: [],
			holds: [],
			ticket_kg: null,
			tickets: [],
			straight: false,
		});

	const carts = new Map<string, CartNow>();
	const weighings: Weighing[] = [];
	for (const [cart, moves] of movesByCart(book)) {
		const size_kg = kept(book, 'cart').find((c) => c.id === cart)?.v.size_kg ?? null;
		const now: Following = { cart, level_kg: 0, holds: [], dumped_kg: 0, unloaded_kg: 0, open: [] };
		for (const m of moves) {
			const w = step(now, m, size_kg);
			weighings.push(w);
			const load = w.load === null ? undefined : loads.get(w.load);
			if (w.kind === 'offload' && load) {
				load.cart_kg += w.net_kg;
				if (!load.carts.includes(cart)) load.carts.push(cart);
				load.holds = joined([...load.holds, ...w.took]);
			}
		}
		carts.set(cart, { cart, level_kg: now.level_kg, holds: now.holds });
	}
	// Only now is it known which offloads came out even with their dumps.
	for (const w of weighings) {
		const load = w.kind === 'offload' && w.load !== null ? loads.get(w.load) : undefined;
		if (load) load.dumps_kg = load.dumps_kg === null || w.dumps_kg === null ? null : load.dumps_kg + w.dumps_kg;
	}
	for (const t of kept(book, 'ticket')) {
		const load = t.v.load === null ? undefined : loads.get(t.v.load);
		if (!load) continue;
		load.tickets.push(t.id);
		const net = ticketNet_kg(t.v);
		if (net !== null) load.ticket_kg = (load.ticket_kg ?? 0) + net;
		if (t.v.combine !== null) load.straight = true;
	}
	const result = { weighings, byId: new Map(weighings.map((w) => [w.id, w])), carts, loads };
	remembered.set(book, result);
	return result;
}

type Move = Kept<'dump'> | Kept<'offload'> | Kept<'zero'>;

function movesByCart(book: Book): Map<string, Move[]> {
	const all: Move[] = [...kept(book, 'dump'), ...kept(book, 'offload'), ...kept(book, 'zero')];
	all.sort(inOrder);
	const byCart = new Map<string, Move[]>();
	for (const c of kept(book, 'cart')) byCart.set(c.id, []);
	for (const m of all) {
		const list = byCart.get(m.v.cart);
		if (list) list.push(m);
		else byCart.set(m.v.cart, [m]);
	}
	return byCart;
}

/** A movement of less than this share of the load is the scale's own unrest, not grain. */
const EMPTY_KG = 1e-6;

function step(now: Following, m: Move, size_kg: number | null): Weighing {
	const kind = m.thing.kind as Weighing['kind'];
	const before_kg = now.level_kg;
	const odd: Weighing['odd'] = [];
	const sign = kind === 'dump' ? 1 : kind === 'offload' ? -1 : 0;
	const told = m.v as { reading_kg: number | null; net_kg?: number | null };
	let net_kg = 0;
	let after_kg = before_kg;
	if (kind === 'zero') after_kg = told.reading_kg ?? 0;
	else if (told.reading_kg !== null) {
		net_kg = sign * (told.reading_kg - before_kg);
		after_kg = told.reading_kg;
	} else if (typeof told.net_kg === 'number') {
		net_kg = told.net_kg;
		after_kg = before_kg + sign * told.net_kg;
	} else odd.push('no weight');
	if (net_kg < 0) {
		odd.push('wrong way');
		net_kg = 0;
	} else if (net_kg === 0 && kind !== 'zero' && odd.length === 0) odd.push('no weight');
	if (after_kg < -0.01 * Math.max(1000, net_kg)) odd.push('below nothing');
	if (size_kg !== null && after_kg > size_kg * 1.02) odd.push('above size');

	const w: Weighing = {
		id: m.id,
		kind,
		cart: m.v.cart,
		time_s: m.v.time_s,
		before_kg,
		after_kg,
		net_kg,
		odd,
		took: [],
		dumps_kg: null,
		load: kind === 'offload' ? (m.v as { load: string | null }).load : null,
	};
	if (kind === 'dump') {
		now.holds = [...now.holds, { dump: m.id, kg: net_kg }];
		now.dumped_kg += net_kg;
	}
	if (kind === 'zero' && after_kg <= 0) now.holds = [];
	if (kind === 'offload') takeOut(now, w, told.reading_kg === null);
	now.level_kg = w.after_kg;
	return w;
}

/** What may be left between a cart's dumps and its offloads while it counts as empty: the scale's own unrest. */
const SAME_REL = 0.012;
const SAME_KG = 40;

function takeOut(now: Following, w: Weighing, byNet: boolean): void {
	const held = now.holds.reduce((s, p) => s + p.kg, 0);
	now.unloaded_kg += w.net_kg;
	now.open.push(w);
	const rest = now.dumped_kg - now.unloaded_kg;
	const empty = Math.abs(rest) <= SAME_KG + SAME_REL * now.dumped_kg;
	// What is left of an emptied cart is no grain: all that it held went out, whatever the two scales' difference.
	const share = held <= 0 ? 0 : empty ? w.net_kg / held : Math.min(1, w.net_kg / held);
	w.took = now.holds.map((p) => ({ dump: p.dump, kg: p.kg * share })).filter((p) => p.kg > 0);
	const missing = w.net_kg - held * share;
	if (missing > EMPTY_KG) w.took.push({ dump: '', kg: missing });
	now.holds = empty || share >= 1 ? [] : now.holds.map((p) => ({ dump: p.dump, kg: p.kg * (1 - share) }));
	if (empty) {
		for (const o of now.open) o.dumps_kg = (o.net_kg * now.dumped_kg) / now.unloaded_kg;
		if (byNet) w.after_kg = 0;
	}
	if (empty || rest < 0) {
		now.dumped_kg = 0;
		now.unloaded_kg = 0;
		now.open = [];
	}
}

/** Portions of the same dump added up, in order of first appearance. */
export function joined(portions: readonly Portion[]): Portion[] {
	const by = new Map<string, number>();
	for (const p of portions) by.set(p.dump, (by.get(p.dump) ?? 0) + p.kg);
	return [...by].map(([dump, kg]) => ({ dump, kg }));
}
