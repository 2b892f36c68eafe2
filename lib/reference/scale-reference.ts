import { CART, type FieldPlan, type LoadBook, type Reference, TICKETS } from '../model/index.ts';
import {
	cartSide,
	certified,
	ratioOfSums as cochran,
	dumpsApart,
	mixtureInterval,
	type TicketSlip,
} from '../stats/index.ts';
import { POUND_KG } from '../units/index.ts';
import { joinTickets } from './join.ts';
import { statedLimit_pct, ticketCaution, ticketExplanations } from './slips.ts';
import { inPounds, unitSlip, unitsApart } from './units.ts';
import { COPY, type Load, reported, weighedLoads } from './weighed-loads.ts';

const UNSAID_LIMIT_PCT = 100 * CART.unchecked_rel;

/**
 * The cart ratio from tickets: certified mass / cart mass.
 *
 * A ratio of sums over truckloads with both weights (Cochran, Sampling Techniques, 3rd ed., ch. 6), its interval by
 * Student's t with n − 1 degrees of freedom, the certified scale's tolerance (NIST HB44, class III L) added as
 * rectangular limits. Without tickets the ratio is 1 within the scale's own limits, rectangular.
 */
export function scaleReference(input: { book: LoadBook; plan: FieldPlan }): Reference {
	const { plan } = input;
	const book = joinTickets(input.book);
	const loads = weighedLoads(book);
	const used = loads.filter((l) => l.used);
	if (used.length === 0) return withoutTickets(book, plan, loads);
	const found = againstTickets(plan, loads, used);
	if (inPounds(found.ratio, book, plan)) return ticketsInPounds(plan, loads, found.ratio);
	const slips = ticketExplanations(book, plan, found);
	if (slips.length === 1) {
		const unit = unitSlip(found.ratio, plan);
		if (unit === null) return found;
		const says = `The tickets come to ${found.ratio.toPrecision(3)} times the cart's weights of the same grain. Possible cause: ${unit}. If it is the tickets' unit, the factors are off by as much.`;
		return { ...found, remarks: [...(found.remarks ?? []), says] };
	}
	const caution = ticketCaution(book, plan, found, slips);
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
		df: Infinity,
		remarks: [...(found.remarks ?? []), caution],
		either,
	};
}

/** The reference by tickets that are taken for pounds. */
function ticketsInPounds(plan: FieldPlan, loads: readonly Load[], asWritten: number): Reference {
	const inKilograms = loads.map((l) => ({ ...l, ticket_kg: l.ticket_kg * POUND_KG }));
	const found = againstTickets(
		plan,
		inKilograms,
		inKilograms.filter((l) => l.used),
	);
	const column = plan.tickets?.columns?.net?.column ?? 'net_kg';
	const says = `The tickets come to ${asWritten.toPrecision(3)} times the cart's weights of the same grain, and no tank holds dumps that heavy: they are taken for pounds read as kilograms. Check the unit of column ${column}.`;
	return { ...found, remarks: [...(found.remarks ?? []), says] };
}

/** The reference if the tickets are right, give dry weights, or cannot be used. */
function supposing(slip: TicketSlip, found: Reference, book: LoadBook, plan: FieldPlan): Reference {
	if (slip.kind === 'right') return found;
	if (slip.kind === 'other') return withoutTickets(book, plan, []);
	const ratio = found.ratio / (1 + slip.by);
	const u_rel = Math.hypot(found.u_rel, TICKETS.drying_rel);
	const half = ((found.interval[1] - found.interval[0]) / (2 * found.ratio * found.u_rel)) * u_rel * ratio;
	return { ...found, ratio, u_rel, interval: [ratio - half, ratio + half] };
}

/** The ratio from truckloads. */
function againstTickets(plan: FieldPlan, loads: Load[], used: readonly Load[]): Reference {
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

	const apart = dumpsApart(loads.filter((l) => l.scale === used[0]!.scale));
	const units = unitsApart(apart, plan);
	// In two units, the side that agrees with the tickets counts.
	const byOffloads = units !== null && Math.abs(Math.log(offloads.ratio)) < Math.abs(Math.log(dumps.ratio));
	const side = byOffloads ? (l: Load) => l.offload_kg : cartSide(used, apart);
	const best = ratioOfSums(used.map(side), tickets);
	// Less than certified scales may be off by is no cause for worry.
	if (units !== null) {
		remarks.push(`${units} The ${byOffloads ? 'offloads' : 'dumps'} are compared with the tickets here.`);
	} else if (Math.abs(apart) > CART.certified_rel) {
		remarks.push(
			`The cart weighs dumps and offloads of the same grain differently (${(100 * apart).toFixed(2)}%). The dumps are compared with the ` +
				'tickets here, since the factors use dumps. Weigh with the cart stopped and level.',
		);
	}

	const n = used.length;
	const u_load = n >= 2 ? best.u_rel : CART.load_rel;
	const { u_rel, interval, df } = certified(best.ratio, u_load, n);
	if (n < CART.enoughLoads) {
		remarks.push(
			`Only ${n === 1 ? '1 truckload checks' : '2 truckloads check'} the cart scale. Get tickets for three to five, early ` +
				'in the season.',
		);
	}
	return {
		ratio: best.ratio,
		u_rel,
		u_certified_rel: CART.certified_rel / Math.sqrt(3),
		interval,
		n,
		source: 'tickets',
		limit_rel: 0,
		df,
		loads: loads.map((l) => {
			const kg = Number.isFinite(side(l)) ? side(l) : l.offload_kg;
			return reported(l, l.fair ? l.ticket_kg / (kg * best.ratio) - 1 : Number.NaN, kg);
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

function withoutTickets(book: LoadBook, plan: FieldPlan, loads: Load[]): Reference {
	const nothing = book.dumps.length === 0 && book.offloads.length === 0 && book.tickets.length === 0;
	const onlyTickets = book.dumps.length === 0 && book.tickets.length > 0;
	if (nothing || onlyTickets) {
		// Certified weights need no cart scale.
		const u = onlyTickets ? CART.certified_rel / Math.sqrt(3) : 0;
		const half = onlyTickets ? 0.95 * CART.certified_rel : 0;
		return {
			ratio: 1,
			u_rel: u,
			interval: [1 - half, 1 + half],
			n: onlyTickets ? book.tickets.length : 0,
			source: onlyTickets ? 'tickets' : 'none',
			limit_rel: onlyTickets ? CART.certified_rel : 0,
			df: Infinity,
			loads: loads.map((l) => reported(l)),
			remarks: [],
		};
	}
	const said = statedLimit_pct(book, plan);
	const limit = (said ?? UNSAID_LIMIT_PCT) / 100;
	// Where dumps and offloads of the same grain differ, either may be what the scale weighs right.
	const apart = dumpsApart(loads.filter((l) => l.offload_kg > 0));
	const units = unitsApart(apart, plan);
	const wrong = Math.abs(apart) > limit && units === null ? apart / 2 : 0;
	const twice = loads.filter((l) => l.ticket_kg > 0 && l.offload_kg > 0);
	const ratio = twice.reduce((sum, l) => sum + l.ticket_kg, 0) / twice.reduce((sum, l) => sum + l.offload_kg, 0);
	const unit = unitSlip(ratio, plan);
	const none =
		book.tickets.length > 0
			? 'No ticket belongs to an offload of the cart log, by number or by weight, so none'
			: 'No ticket';
	const remark =
		twice.length > 0
			? `${twice.some((l) => l.reason === COPY) ? `The tickets are not used: ${COPY}.` : `The tickets come to ${ratio.toPrecision(3)} times the cart's weights of the same truckloads, and are not used. ${unit ? `Possible cause: ${unit}.` : 'Check both.'}`} The cart scale is assumed good to ±${said ?? UNSAID_LIMIT_PCT}%; the field's total is uncertain by the same ±${said ?? UNSAID_LIMIT_PCT}%.`
			: said === null
				? `${none} checks the cart scale, and no limit is given for it: it is assumed good to ±${UNSAID_LIMIT_PCT}%. The field's total is uncertain by the same ±${UNSAID_LIMIT_PCT}%. Get tickets for three to five truckloads. Comparisons between combines on this cart do not depend on it.`
				: `${none} checks the cart scale: it is assumed good to ±${said}%. The field's total is uncertain by the same ±${said}%. Get tickets for three to five truckloads.`;
	const remarks = units === null ? [remark] : [remark, units];
	if (wrong !== 0)
		remarks.push(
			`The cart weighs dumps and offloads of the same grain differently (${(200 * wrong).toFixed(2)}%), and no ticket shows ` +
				'which is right: the factors allow for both. Weigh with the cart stopped and level, after the auger has run empty.',
		);
	return {
		...within(limit + Math.abs(wrong), 1 - wrong),
		n: 0,
		source: 'limit',
		limit_rel: limit,
		df: Infinity,
		loads: loads.map((l) => reported(l)),
		remarks,
	};
}

/** The reference where no ticket checks the scale: rectangular within the scale's limits about 1, or about another ratio. */
function within(limit_rel: number, ratio = 1): Pick<Reference, 'ratio' | 'u_rel' | 'interval'> {
	// 95 % of a rectangular distribution lies within 0.95 of its half-width.
	const half = 0.95 * limit_rel;
	return { ratio, u_rel: limit_rel / Math.sqrt(3), interval: [ratio - half, ratio + half] };
}

/**
 * The reference for reports. Where no cart weighed anything, computations take the ratio to be exact, since no factor
 * depends on it; for reports the scale is as uncertain as any that no ticket checks.
 */
export function statedReference(
	reference: Reference,
	{ book, plan }: { book: LoadBook; plan: FieldPlan },
): Pick<Reference, 'ratio' | 'u_rel' | 'interval'> {
	return reference.source === 'none' ? within((statedLimit_pct(book, plan) ?? UNSAID_LIMIT_PCT) / 100) : reference;
}

/** Certified mass over cart mass, with the relative standard uncertainty of the ratio. */
function ratioOfSums(cart: number[], certified: number[]): { ratio: number; u_rel: number } {
	const { ratio, u } = cochran(certified, cart);
	return { ratio, u_rel: u / ratio };
}
