import { CART, TICKETS } from '../model/index.ts';
import { median } from './median.ts';
import { normalCdf, normalDensity } from './student.ts';

/** Explanations less likely than this are dropped: what is likelier than 2.5% may hold an end of a 95% interval. */
const LEAST = 0.02;
/** Drying by less than this changes too little to be one, relative. */
const LEAST_DRYING = 0.005;

/** A possible explanation of the tickets' ratio, with its probability. */
export interface TicketSlip {
	weight: number;
	kind: 'right' | 'dry' | 'other';
	/** Effect of the slip on the tickets, relative; NaN where not known. */
	by: number;
}

/** What tickets say of a cart's scale, all relative. */
export interface TicketsSay {
	/** The ratio of ticket to cart less 1, by dumps and by offloads, and its standard uncertainty. */
	sides: readonly [number, number];
	u_rel: number;
	/** Each truckload's ratio, and what drying would do to its tickets; 0 where their moisture is not known. */
	loads: readonly { rel: number; drying: number }[];
	/** The scale's stated limit; null where none is. */
	limit: number | null;
	/** What drying to market moisture would do to the tickets; 0 where no moisture is known. */
	drying: number;
	/** Whether the ratio looks like that of two units. */
	unit: boolean;
}

/**
 * Explanations of a ratio that disagrees with the cart scale's limits, by Bayes' rule: tickets may be wrong (dry weights
 * given as wet ones, other grain), and a small share of scales is outside its limits.
 */
export function ticketOdds({ sides, u_rel, loads, limit, drying, unit }: TicketsSay): TicketSlip[] {
	// Tickets that agree with one side of the cart are right: the other was weighed too early or while it moved.
	const off = sides.reduce((a, b) => (Math.abs(b) < Math.abs(a) ? b : a));
	const usual = (rel: number): number =>
		limit === null
			? normalDensity(rel, CART.unchecked_rel / Math.sqrt(3))
			: (normalCdf((rel + limit) / u_rel) - normalCdf((rel - limit) / u_rel)) / (2 * limit);
	const beyond = (rel: number): number => normalDensity(rel, TICKETS.slip_rel);
	// Loads apart from the others are odd ones if the tickets are right; if they are not, it is chance that any agree.
	const ratios = loads.map((l) => l.rel);
	const groups = 1 + gaps(ratios, CART.apart_rel);
	const odd = CART.oddLoad ** -(groups - 1);
	const chance = (CART.apart_rel / CART.oddLoad_rel) ** (loads.length - groups);
	// A ratio like that of two units has a cause, and the ratio makes up for it.
	const confused = unit ? CART.beyond / (2 * TICKETS.nearUnit) : 0;
	const odds: TicketSlip[] = [
		{ kind: 'right', by: 0, weight: odd * ((1 - CART.beyond) * usual(off) + CART.beyond * beyond(off) + confused) },
		{
			kind: 'dry',
			by: drying,
			weight: drying < -LEAST_DRYING ? odd * TICKETS.dry * usual(off - drying) * likelierDry(loads) : 0,
		},
		{ kind: 'other', by: Number.NaN, weight: TICKETS.other * (odd * beyond(off) + chance) },
	];
	const sum = odds.reduce((total, o) => total + o.weight, 0);
	const likely = odds.filter((o) => o.kind === 'right' || o.weight > LEAST * sum);
	const left = likely.reduce((total, o) => total + o.weight, 0);
	return likely.map((o) => ({ ...o, weight: o.weight / left }));
}

/**
 * How much likelier the loads' ratios are if the tickets are dry: then those of wetter grain come to less, whatever the scale's
 * own error, else they do not.
 */
function likelierDry(loads: TicketsSay['loads']): number {
	const known = loads.filter((l) => l.drying !== 0);
	const agreement = (of: (l: (typeof known)[number]) => number) => {
		const middle = median(known.map(of));
		const density = (x: number) => normalDensity(x, CART.load_rel) + normalDensity(x, CART.oddLoad_rel) / CART.oddLoad;
		return known.reduce((sum, l) => sum + Math.log(density(of(l) - middle)), 0);
	};
	return known.length < 2 ? 1 : Math.exp(agreement((l) => l.rel - l.drying) - agreement((l) => l.rel));
}

/** Relative change of weights by drying to market moisture, signed; 0 where no moisture is known. */
export function dryingOf(tickets: readonly { net_kg: number; moisture_pct: number }[], market_pct: number): number {
	let wet = 0;
	let dry = 0;
	for (const t of tickets) {
		if (!(t.moisture_pct > 0) || !(t.net_kg > 0)) continue;
		wet += t.net_kg;
		dry += (t.net_kg * (100 - t.moisture_pct)) / (100 - market_pct);
	}
	return wet > 0 ? dry / wet - 1 : 0;
}

/** Number of places in sorted order at which values are further apart than this. */
function gaps(values: readonly number[], apart: number): number {
	const sorted = values.toSorted((a, b) => a - b);
	return sorted.filter((v, i) => i > 0 && v - sorted[i - 1]! > apart).length;
}
