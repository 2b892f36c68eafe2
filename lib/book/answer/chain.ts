import { CART, MONITOR } from '../../model/index.ts';
import { median, type Part } from '../../stats/index.ts';
import type { Book } from '../book.ts';
import { ledger } from '../ledger/ledger.ts';
import type { BookFill } from './fills.ts';
import type { ScaleRatio } from './scale-ratio.ts';

/** A fill as the tank model uses it: grain that came in, tanks emptied onto the cart, a weight. */
export interface Load {
	fill: BookFill;
	inflows: Inflow[];
	/** Reference mass, and the variance of the errors of this weight alone, kg². */
	kg: number;
	own_kg2: number;
	/** Gross readings that it is a sum of, each with its sign and standard uncertainty, kg. */
	readings: { id: string; by: number; u_kg: number }[];
	cart: number;
	/** How many of its dumps began with what the book takes for an empty cart. */
	fromEmpty: number;
	/** A weight that is used, not set aside by the operator. */
	weighs: boolean;
}

export interface Inflow {
	combine: number;
	/** As the monitor showed it. */
	kg: number;
	seconds: number;
	/** Time between the combine's previous dump and this grain. */
	paused_s: number;
}

/** A cart's scale: its ratio's uncertainty, and every truckload that a ticket checks. */
export interface Cart {
	id: string;
	parts: readonly Part[];
	u_rel: number;
	/** Ticket over reference mass less 1, at the time when the cart unloaded; the latter by dumps (infinite where not known). */
	checks: { time_s: number; rel: number; dumps_kg: number }[];
}

/** Everything weighed and read, in order of time. */
export interface BookChain {
	combines: string[];
	carts: Cart[];
	loads: Load[];
	/** A load by its index; or tanks (by combine) emptied without a monitor reading. */
	steps: ({ load: number } | { emptied: number[] })[];
	/** Median ratios, used to convert relative errors to mass. */
	rough: number[];
	/** Loads from this one on belong to another field: each combine's factor may have moved by this much, relative. */
	moved: { from: number; u_rel: readonly number[] } | null;
}

/** First load that is of the field itself, and not of one before it. */
export const ownFrom = (chain: BookChain): number => chain.moved?.from ?? 0;

/** Rate at which a combine fills its tank where no two dumps give one, kg/s (common practice). */
const USUAL_KG_S = 10;
/** A fill that took this many times as long as others of its size included a pause (common practice). */
const PAUSED = 2;

/** Puts fills in order of time together with the readings that they share. */
export function chainOf(
	book: Book,
	fills: readonly BookFill[],
	emptied: readonly { time_s: number; combines: readonly string[] }[],
	ratioOf: (cart: string) => ScaleRatio,
): BookChain {
	const combines = [...new Set(fills.flatMap((f) => f.monitor.map((m) => m.combine)))];
	const ids = [...new Set(fills.map((f) => f.cart))];
	const carts = ids.map((id) => {
		const { parts, pairs, ratio } = ratioOf(id);
		const checks = pairs
			.filter((p) => p.used || p.reason === 'ticket over' || p.reason === 'ticket under')
			.map((p) => ({
				time_s: p.time_s,
				rel: p.ticket_kg! / ((p.dumps_kg ?? p.cart_kg) * ratio) - 1,
				dumps_kg: p.dumps_kg ?? Infinity,
			}));
		const u_rel = Math.hypot(...parts.map((p) => (p.kind === 't' ? p.u : p.half / Math.sqrt(3))));
		return { id, parts, u_rel, checks };
	});
	const gross = readingsOf(book, fills);
	const rates = combines.map((c) => rateOf(c, fills));
	const loads = fills.map((fill): Load => {
		const { ratio } = ratioOf(fill.cart);
		const by = new Map<string, { by: number; u_kg: number }>();
		let own_kg2 = 0;
		for (const d of fill.dumps) {
			const w = gross.get(d)!;
			own_kg2 += CART.rounding_kg ** 2 + (CART.stand_rel * ratio * w.net_kg) ** 2;
			for (const [id, sign, kg] of [
				[w.before, -1, w.before_kg],
				[w.after, 1, w.after_kg],
			] as const) {
				const u_kg = ratio * Math.hypot(CART.reading_a_kg, CART.reading_b_rel * Math.max(0, kg));
				by.set(id, { by: (by.get(id)?.by ?? 0) + sign, u_kg });
			}
		}
		return {
			fill,
			inflows: fill.monitor.map((m, k) => inflow(combines.indexOf(m.combine), m.kg, fill, k, rates)),
			kg: ratio * fill.cart_kg,
			own_kg2,
			// A reading shared by two dumps of the same fill cancels.
			readings: [...by].filter(([, r]) => r.by !== 0).map(([id, r]) => ({ id, ...r })),
			cart: ids.indexOf(fill.cart),
			fromEmpty: fill.dumps.filter((d) => gross.get(d)!.fromEmpty).length,
			weighs: !fill.aside,
		};
	});
	const timed = [
		...loads.map((l, load) => ({ time_s: l.fill.time_s, step: { load } as BookChain['steps'][number] })),
		...emptied.map((e) => ({
			time_s: e.time_s,
			step: { emptied: e.combines.map((c) => combines.indexOf(c)).filter((c) => c >= 0) },
		})),
	].sort((a, b) => a.time_s - b.time_s);
	const alone = (c: number) => loads.filter((l) => l.weighs && l.inflows.length === 1 && l.inflows[0]!.combine === c);
	return {
		combines,
		carts,
		loads,
		steps: timed.map((t) => t.step),
		rough: combines.map((_, c) => {
			const ratios = alone(c).map((l) => l.kg / l.inflows[0]!.kg);
			return ratios.length > 0 ? median(ratios) : 1;
		}),
		moved: null,
	};
}

/** The two readings of a dump on its cart's scale. */
interface Read {
	before: string;
	after: string;
	before_kg: number;
	after_kg: number;
	net_kg: number;
	fromEmpty: boolean;
}

/** Each dump's readings on its cart's scale: the reading before is the reading after the row before. */
function readingsOf(book: Book, fills: readonly BookFill[]) {
	const wanted = new Set(fills.flatMap((f) => f.dumps));
	const last = new Map<string, string>();
	const dumps = new Set<string>();
	const out = new Map<string, Read>();
	for (const w of ledger(book).weighings) {
		if (wanted.has(w.id)) {
			const { before_kg, after_kg, net_kg } = w;
			const before = last.get(w.cart) ?? w.cart;
			// An offload that leaves more than a dump brings has not emptied the cart.
			const fromEmpty = !dumps.has(before) && before_kg < net_kg;
			out.set(w.id, { before, after: w.id, before_kg, after_kg, net_kg, fromEmpty });
		}
		if (w.kind === 'dump') dumps.add(w.id);
		last.set(w.cart, w.id);
	}
	return out;
}

/** How fast grain comes in by the monitor: the median over fills between two dumps, kg/s. */
function rateOf(combine: string, fills: readonly BookFill[]): number {
	const rates = fills.flatMap((f) =>
		f.monitor.flatMap((m, k) => {
			const gap_s = f.since_s[k] == null ? 0 : f.time_s - f.since_s[k]!;
			return m.combine === combine && gap_s > 0 && m.kg > 0 ? [m.kg / gap_s] : [];
		}),
	);
	return rates.length > 0 ? median(rates) : USUAL_KG_S;
}

function inflow(combine: number, kg: number, fill: BookFill, k: number, rates: readonly number[]): Inflow {
	const usual_s = Math.max(0, kg) / rates[combine]!;
	const since_s = fill.since_s[k] ?? null;
	const gap_s = since_s === null ? 0 : fill.time_s - since_s;
	const seconds = gap_s > 0 && gap_s <= PAUSED * usual_s ? gap_s : usual_s;
	return { combine, kg, seconds, paused_s: Math.max(0, gap_s - seconds) };
}

/** The last loads of a chain: enough to estimate how large errors are. */
export function latest(chain: BookChain, n: number): BookChain {
	const from = chain.loads.length - n;
	if (from <= 0) return chain;
	const at = chain.steps.findIndex((s) => 'load' in s && s.load === from);
	return { ...chain, steps: chain.steps.slice(at), moved: null };
}

/** How much a combine's factor may have moved between two of its dumps that far apart, relative standard deviation. */
export const movedIn = (hours: number): number =>
	Math.min(MONITOR.factor, MONITOR.change * Math.sqrt(Math.max(0, hours) / MONITOR.change_h));
