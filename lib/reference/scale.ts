import { CART, type FieldPlan, type LoadBook, type Reference, type ReferenceLoad, TICKETS } from '../model/index.ts';
import { ratioOfSums as cochran, mixtureInterval, tQuantile } from '../stats/index.ts';
import { certified } from './cart-ratio.ts';
import { joinTickets } from './join.ts';
import { cartSides } from './sides.ts';
import { type Slip, ticketCaution, ticketExplanations, unitSlip } from './slips.ts';
import { CERTIFIED_LIMIT_REL } from './tolerance.ts';

const UNSAID_LIMIT_PCT = 100 * CART.unchecked_rel;

/**
 * The cart's scale against certified tickets: certified mass / cart mass.
 *
 * A ratio of sums over truck loads with both weights (Cochran, Sampling Techniques, 3rd ed., ch. 6), its interval by
 * Student's t with n − 1 degrees of freedom, the certified scale's tolerance (NIST HB44, class III L) added as
 * rectangular limits. Without tickets the ratio is 1 within the scale's own limits, rectangular.
 */
export function scaleReference(input: { book: LoadBook; plan: FieldPlan }): Reference {
	const { plan } = input;
	const book = joinTickets(input.book);
	const loads = truckLoads(book);
	const used = loads.filter((l) => l.used);
	if (used.length === 0) return withoutTickets(book, plan, loads);
	const found = againstTickets(loads, used);
	const slips = ticketExplanations(book, plan, found);
	if (slips.length === 1) return found;
	const caution = ticketCaution(plan, found, slips);
	const either = slips.map((slip) => ({ weight: slip.weight, reference: supposing(slip, found, book, plan) }));
	const ratio = either.reduce((sum, e) => sum + e.weight * e.reference.ratio, 0);
	const square = either.reduce(
		(sum, { weight, reference: r }) => sum + weight * ((r.u_rel * r.ratio) ** 2 + (r.ratio - ratio) ** 2),
		0,
	);
	return {
		...found,
		ratio,
		u_rel: Math.sqrt(square) / ratio,
		interval: mixtureInterval(either.map((e) => ({ weight: e.weight, interval: e.reference.interval }))),
		df: Number.POSITIVE_INFINITY,
		remarks: [...(found.remarks ?? []), caution],
		either,
	};
}

/** The reference as it would be with the tickets right, dry, or not to be used at all. */
function supposing(slip: Slip, found: Reference, book: LoadBook, plan: FieldPlan): Reference {
	if (slip.kind === 'right') return found;
	if (slip.kind === 'other') return withoutTickets(book, plan, []);
	const ratio = found.ratio / (1 + slip.by);
	const u_rel = Math.hypot(found.u_rel, TICKETS.drying_rel);
	const half = ((found.interval[1] - found.interval[0]) / (2 * found.ratio * found.u_rel)) * u_rel * ratio;
	return { ...found, ratio, u_rel, interval: [ratio - half, ratio + half] };
}

/** The ratio by truck loads. */
function againstTickets(loads: Load[], used: readonly Load[]): Reference {
	const tickets = used.map((l) => l.ticket_kg);
	const offloads = ratioOfSums(
		used.map((l) => l.offload_kg),
		tickets,
	);
	const withDumps = used.filter((l) => Number.isFinite(l.dumps_kg));
	const dumps = ratioOfSums(
		withDumps.map((l) => l.dumps_kg),
		withDumps.map((l) => l.ticket_kg),
	);
	const remarks: string[] = [];

	// Dumps and offloads weighed the same grain. Where they agree their mean scatters less; where they do not, use the
	// dumps, since the factors come from them.
	const apart = difference(withDumps);
	let best = offloads;
	let side = (l: Load): number => l.offload_kg;
	if (withDumps.length === used.length) {
		if (apart.certain) {
			best = dumps;
			side = (l) => l.dumps_kg;
			const pct = (100 * apart.rel).toFixed(2);
			remarks.push(
				`The cart weighs dumps and offloads of the same grain differently (${pct}%). The dumps are compared with the ` +
					'tickets here, since the factors use dumps. Weigh with the cart stopped and level.',
			);
		} else {
			side = (l) => (l.offload_kg + l.dumps_kg) / 2;
			best = ratioOfSums(used.map(side), tickets);
		}
	} else if (apart.certain && withDumps.length >= 2) {
		remarks.push('The cart weighs dumps and offloads of the same grain differently.');
	}

	const n = used.length;
	const u_load = n >= 2 ? best.u_rel : CART.load_rel;
	const { u_rel, interval } = certified(best.ratio, u_load, n);
	if (n < CART.enoughLoads) {
		remarks.push(
			`Only ${n === 1 ? '1 truckload checks' : '2 truckloads check'} the cart scale. Get tickets for three to five, early ` +
				'in the season.',
		);
	}
	return {
		ratio: best.ratio,
		u_rel,
		u_certified_rel: CERTIFIED_LIMIT_REL / Math.sqrt(3),
		interval,
		n,
		source: 'tickets',
		limit_rel: 0,
		df: n >= 2 ? n - 1 : Number.POSITIVE_INFINITY,
		loads: loads.map((l) => {
			const kg = Number.isFinite(side(l)) ? side(l) : l.offload_kg;
			return plain(l, l.fair ? l.ticket_kg / (kg * best.ratio) - 1 : Number.NaN, kg);
		}),
		remarks,
		sides: {
			offloads: offloads.ratio,
			u_offloads: offloads.u_rel,
			dumps: withDumps.length > 0 ? dumps.ratio : Number.NaN,
			u_dumps: withDumps.length > 1 ? dumps.u_rel : Number.NaN,
		},
	};
}

interface Load extends ReferenceLoad {
	/** Both weights are of the same grain by all that is noted, and of the scale that weighed most. */
	fair: boolean;
	offload_kg: number;
	/** Sum of the dumps that made the load; NaN where the cart was not emptied between loads. */
	dumps_kg: number;
}

function plain(l: Load, rel = Number.NaN, side_kg = l.offload_kg): ReferenceLoad {
	const { truckLoad, cart_kg, ticket_kg, used, reason, time_s, scale } = l;
	return { truckLoad, cart_kg, ticket_kg, used, reason, time_s, scale, rel, side_kg };
}

/** Every truckload that has cart weights or a ticket, in the order of the book. */
function truckLoads(book: LoadBook): Load[] {
	const sides = cartSides(book);
	const loads = new Map<string, Load>();
	const load = (name: string): Load => {
		let found = loads.get(name);
		if (!found) {
			found = {
				truckLoad: name,
				cart_kg: 0,
				ticket_kg: 0,
				used: false,
				reason: null,
				time_s: Number.NaN,
				scale: null,
				rel: Number.NaN,
				side_kg: 0,
				fair: false,
				offload_kg: 0,
				dumps_kg: 0,
			};
			loads.set(name, found);
		}
		return found;
	};
	book.offloads.forEach((o, i) => {
		if (o.truckLoad === null) return;
		const l = load(o.truckLoad);
		l.offload_kg += o.weight_kg;
		l.dumps_kg += sides[i] as number;
		l.scale = o.scale;
		if (o.timeGrain !== 'day' && !(o.time_s < l.time_s)) l.time_s = o.time_s;
	});
	const straight = new Set<string>();
	for (const t of book.tickets) {
		if (t.truckLoad === null) continue;
		load(t.truckLoad).ticket_kg += t.net_kg;
		if (t.combine !== null) straight.add(t.truckLoad);
	}
	const main = mainScale(book, [...loads.values()]);
	for (const l of loads.values()) {
		l.cart_kg = l.offload_kg;
		if (l.ticket_kg === 0) l.reason = 'no ticket';
		else if (straight.has(l.truckLoad)) l.reason = 'the truck also took grain straight from a combine';
		else if (l.offload_kg === 0) l.reason = 'no offload from the cart is entered for it';
		else if (l.scale !== null && l.scale !== main)
			l.reason = `weighed by scale ${l.scale}, which has a ratio of its own`;
		l.used = l.reason === null;
		l.fair = l.used;
	}
	const list = [...loads.values()];
	setOddAside(list);
	return list;
}

/** The scale that most truck loads came from, else most dumps. */
function mainScale(book: LoadBook, loads: readonly Load[]): string | null {
	const rows = loads.some((l) => l.scale !== null && l.ticket_kg > 0)
		? loads.filter((l) => l.ticket_kg > 0)
		: book.dumps;
	const count = new Map<string, number>();
	for (const { scale } of rows) if (scale !== null) count.set(scale, (count.get(scale) ?? 0) + 1);
	return [...count].sort((a, b) => b[1] - a[1])[0]?.[0] ?? null;
}

/** Marks loads whose ratio is far from the median of the others as not used, with a reason. */
function setOddAside(loads: Load[]): void {
	const used = loads.filter((l) => l.used);
	const ratios = used.map((l) => l.ticket_kg / l.offload_kg).sort((a, b) => a - b);
	if (ratios.length === 0) return;
	const middle = ratios.length >= 3 ? (ratios[ratios.length >> 1] as number) : 1;
	// With one or two loads only impossible ratios can be recognized.
	const limit = ratios.length >= 3 ? CART.apart_rel : 0.15;
	for (const l of used) {
		const off = l.ticket_kg / l.offload_kg / middle - 1;
		if (Math.abs(off) <= limit) continue;
		l.used = false;
		l.reason =
			off > 0
				? `the ticket is ${(100 * off).toFixed(1)}% over the cart's weight; possible cause: grain from elsewhere, or an offload that was not entered`
				: `the ticket is ${(-100 * off).toFixed(1)}% under the cart's weight; possible cause: some of the cart's grain went elsewhere`;
	}
}

/** Relative difference of dumps and offloads of the same grain, dumps / offloads − 1, and whether it exceeds chance. */
function difference(loads: Load[]): { rel: number; certain: boolean } {
	if (loads.length < 3) return { rel: 0, certain: false };
	const both = ratioOfSums(
		loads.map((l) => l.offload_kg),
		loads.map((l) => l.dumps_kg),
	);
	const rel = both.ratio - 1;
	const limit = tQuantile(0.975, loads.length - 1) * both.u_rel;
	return { rel, certain: Math.abs(rel) > limit && Math.abs(rel) > 0.0005 };
}

function withoutTickets(book: LoadBook, plan: FieldPlan, loads: Load[]): Reference {
	const nothing = book.dumps.length === 0 && book.offloads.length === 0 && book.tickets.length === 0;
	const onlyTickets = book.dumps.length === 0 && book.tickets.length > 0;
	if (nothing || onlyTickets) {
		// Certified weights need no cart scale.
		const u = onlyTickets ? CERTIFIED_LIMIT_REL / Math.sqrt(3) : 0;
		const half = onlyTickets ? 0.95 * CERTIFIED_LIMIT_REL : 0;
		return {
			ratio: 1,
			u_rel: u,
			interval: [1 - half, 1 + half],
			n: onlyTickets ? book.tickets.length : 0,
			source: onlyTickets ? 'tickets' : 'none',
			limit_rel: onlyTickets ? CERTIFIED_LIMIT_REL : 0,
			df: Number.POSITIVE_INFINITY,
			loads: loads.map((l) => plain(l)),
			remarks: [],
		};
	}
	const said = saidLimit(book, plan);
	const limit = (said ?? UNSAID_LIMIT_PCT) / 100;
	const twice = loads.filter((l) => l.ticket_kg > 0 && l.offload_kg > 0);
	const ratio = twice.reduce((sum, l) => sum + l.ticket_kg, 0) / twice.reduce((sum, l) => sum + l.offload_kg, 0);
	const unit = unitSlip(ratio, plan);
	const remark =
		twice.length > 0
			? `The tickets come to ${ratio.toPrecision(3)} times the cart's weights of the same truckloads, and are not used. ${unit ? `Possible cause: ${unit}.` : 'Check both.'} The cart scale is assumed good to ±${said ?? UNSAID_LIMIT_PCT}%; the field's total is uncertain by the same ±${said ?? UNSAID_LIMIT_PCT}%.`
			: said === null
				? `No ticket checks the cart scale, and no limit is given for it: it is assumed good to ±${UNSAID_LIMIT_PCT}%. The field's total is uncertain by the same ±${UNSAID_LIMIT_PCT}%. Get tickets for three to five truckloads. Comparisons between combines on this cart do not depend on it.`
				: `No ticket checks the cart scale: it is assumed good to ±${said}%. The field's total is uncertain by the same ±${said}%. Get tickets for three to five truckloads.`;
	return {
		...within(limit),
		n: 0,
		source: 'limit',
		limit_rel: limit,
		df: Number.POSITIVE_INFINITY,
		loads: loads.map((l) => plain(l)),
		remarks: [remark],
	};
}

/** The reference where no ticket checks the scale: ratio 1, rectangular within the scale's limits. */
function within(limit_rel: number): Pick<Reference, 'ratio' | 'u_rel' | 'interval'> {
	// 95 % of a rectangular distribution lies within 0.95 of its half-width.
	return { ratio: 1, u_rel: limit_rel / Math.sqrt(3), interval: [1 - 0.95 * limit_rel, 1 + 0.95 * limit_rel] };
}

/**
 * The reference for reports. Where no cart weighed anything, computations take the ratio to be exact, since no factor
 * depends on it; for reports the scale is as uncertain as any that no ticket checks.
 */
export function statedReference(
	reference: Reference,
	{ book, plan }: { book: LoadBook; plan: FieldPlan },
): Pick<Reference, 'ratio' | 'u_rel' | 'interval'> {
	return reference.source === 'none' ? within((saidLimit(book, plan) ?? UNSAID_LIMIT_PCT) / 100) : reference;
}

/** The widest limit stated for the scales that weighed dumps; null where none is stated. */
function saidLimit(book: LoadBook, plan: FieldPlan): number | null {
	const names = new Set(book.dumps.map((d) => d.scale).filter((s): s is string => s !== null));
	const named = [...names].map((s) => plan.scales[s]).filter((s) => s !== undefined);
	const scales = named.length > 0 ? named : Object.values(plan.scales);
	const limits = scales.map((s) => s.limit_pct).filter((l): l is number => l !== null);
	return limits.length === 0 ? null : Math.max(...limits);
}

/** Certified mass over cart mass, with the relative standard uncertainty of the ratio. */
function ratioOfSums(cart: number[], certified: number[]): { ratio: number; u_rel: number } {
	const { ratio, u } = cochran(certified, cart);
	return { ratio, u_rel: u / ratio };
}
