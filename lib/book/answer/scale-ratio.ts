import { CART, TICKETS } from '../../model/index.ts';
import {
	cartSide,
	certified,
	dryingOf,
	dumpsApart,
	halfWidth,
	mixtureInterval,
	outOfLine,
	type Part,
	ratioOfSums,
	type TicketSlip,
	type TicketsSay,
	ticketOdds,
} from '../../stats/index.ts';
import { confusedUnits } from '../../units/index.ts';
import type { Book } from '../book.ts';
import { find, kept } from '../kept.ts';
import { ledger } from '../ledger/ledger.ts';
import { cropKnown, ticketNet_kg } from '../values.ts';

/** One truckload on both scales. */
export interface LoadPair {
	load: string;
	/** When the cart last unloaded onto it; NaN where it did not. */
	time_s: number;
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
	/** Over all explanations in `either`. */
	interval: [number, number];
	/** Components of its relative uncertainty, from which intervals are computed. */
	parts: Part[];
	/** Truckloads used. */
	n: number;
	source: 'tickets' | 'limit';
	/** Rectangular limits assumed without tickets, relative. */
	limit_rel: number;
	/** Possible explanations of it, where the tickets may be wrong: each with its probability, and the ratio under it. */
	either: { weight: number; kind: TicketSlip['kind']; by: number; ratio: ScaleRatio }[];
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
	const left = new Map(l.weighings.flatMap((w) => (w.cart === cart && w.load !== null ? [[w.load, w.time_s]] : [])));
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
			time_s: left.get(load.id) ?? Number.NaN,
			cart_kg: load.cart_kg,
			dumps_kg: load.dumps_kg,
			ticket_kg: load.ticket_kg,
			used: reason === null,
			reason,
		});
	}
	const fair = pairs.filter((p) => p.used);
	const offs = outOfLine(fair.map((p) => p.ticket_kg! / p.cart_kg));
	for (const [i, p] of fair.entries()) {
		if (offs[i] === 0) continue;
		p.used = false;
		p.reason = offs[i]! > 0 ? 'ticket over' : 'ticket under';
	}
	const used = fair.filter((p) => p.used);
	const limit_rel = (find(book, 'cart', cart)?.v.limit_pct ?? CART.unchecked_rel * 100) / 100;
	const withoutTickets = (): ScaleRatio => {
		const parts: Part[] = [{ kind: 'rectangular', half: limit_rel }];
		const half = halfWidth(parts);
		return { ratio: 1, interval: [1 - half, 1 + half], parts, n: 0, source: 'limit', limit_rel, either: [], pairs };
	};
	if (used.length === 0) return withoutTickets();
	const loads = used.map((p) => ({ offload_kg: p.cart_kg, dumps_kg: p.dumps_kg ?? Number.NaN }));
	const r = ratioOfSums(
		used.map((p) => p.ticket_kg!),
		loads.map(cartSide(loads, dumpsApart(loads))),
	);
	const [u, df] = r.n > 1 ? [r.u / r.ratio, r.df] : [CART.load_rel, Infinity];
	const found: ScaleRatio = {
		ratio: r.ratio,
		interval: certified(r.ratio, u, r.n).interval,
		parts: [
			{ kind: 't', u, df },
			{ kind: 'rectangular', half: CART.certified_rel },
		],
		n: r.n,
		source: 'tickets',
		limit_rel,
		either: [],
		pairs,
	};
	const odds = ticketOdds({
		...says(book, cart, fair, found),
		u_rel: Math.hypot(u, CART.certified_rel / Math.sqrt(3)),
	});
	if (odds.length < 2) return found;
	const either = odds.map((o) => ({
		...o,
		ratio: o.kind === 'right' ? found : o.kind === 'dry' ? dried(found, o.by) : withoutTickets(),
	}));
	const interval = mixtureInterval(either.map(({ weight, ratio }) => ({ weight, interval: ratio.interval })));
	return { ...found, interval, either };
}

/** The ratio if the tickets are of dry weights, less by so much. */
function dried(found: ScaleRatio, by: number): ScaleRatio {
	const parts = [...found.parts, { kind: 't' as const, u: TICKETS.drying_rel, df: Infinity }];
	const [ratio, half] = [found.ratio / (1 + by), halfWidth(parts)];
	return { ...found, ratio, interval: [ratio * (1 - half), ratio * (1 + half)], parts };
}

/** What the tickets of truckloads say of the cart's scale. */
function says(book: Book, cart: string, fair: readonly LoadPair[], { ratio }: ScaleRatio): Omit<TicketsSay, 'u_rel'> {
	const loads = new Map(fair.map((p) => [p.load, p]));
	const tickets = kept(book, 'ticket').filter((t) => loads.has(t.v.load ?? ''));
	const used = fair.filter((p) => p.used);
	const sum = (of: (p: LoadPair) => number) => used.reduce((s, p) => s + of(p), 0);
	const holds = (p: LoadPair | undefined) => ledger(book).loads.get(p?.load ?? '')?.holds[0]?.dump ?? null;
	const field = find(book, 'field', find(book, 'dump', holds(used[0]))?.v.field ?? null);
	const market_pct = cropKnown(field?.v ?? null)?.market_moisture_pct ?? Number.NaN;
	const dryingIn = (of: typeof tickets) =>
		Number.isFinite(market_pct)
			? dryingOf(
					of.map((t) => ({ net_kg: ticketNet_kg(t.v) ?? Number.NaN, moisture_pct: t.v.moisture_pct ?? Number.NaN })),
					market_pct,
				)
			: 0;
	const stated = find(book, 'cart', cart)?.v.limit_pct ?? null;
	return {
		sides: [ratio - 1, sum((p) => p.ticket_kg!) / sum((p) => p.cart_kg) - 1],
		loads: fair.map((p) => ({
			rel: p.ticket_kg! / ((p.dumps_kg ?? p.cart_kg) * ratio) - 1,
			drying: dryingIn(tickets.filter((t) => t.v.load === p.load)),
		})),
		limit: stated === null ? null : stated / 100,
		drying: dryingIn(tickets),
		unit: confusedUnits(ratio) !== null,
	};
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
