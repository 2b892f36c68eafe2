import { max } from 'd3-array';
import { type FieldPlan, type LoadBook, MOISTURE, type MoistureOffset, type Reference } from '../model/index.ts';
import { dryingOf, normalDensity, quantileOf, type TicketSlip, ticketOdds } from '../stats/index.ts';
import { unitSlip } from './units.ts';

/** A probability below this is dropped. */
const LEAST = 0.05;

/**
 * Explanations of a ratio that disagrees with the cart scale's limits, by Bayes' rule: tickets may be wrong (dry weights
 * given as wet ones, other grain), and a small share of scales is outside its limits.
 *
 * @param reference - as estimated from the tickets
 */
export function ticketExplanations(book: LoadBook, plan: FieldPlan, reference: Reference): TicketSlip[] {
	const right: TicketSlip = { weight: 1, kind: 'right', by: 0 };
	if (book.dumps.length + book.offloads.length === 0) return [right];
	const limit_pct = statedLimit_pct(book, plan);
	const dryingIn = (tickets: LoadBook['tickets']) => dryingOf(tickets, plan.crop.market_moisture_pct);
	return ticketOdds({
		sides: [reference.ratio - 1, (reference.sides?.offloads ?? reference.ratio) - 1],
		u_rel: reference.u_rel,
		loads: reference.loads
			.filter((l) => Number.isFinite(l.rel))
			.map(({ rel, truckLoad }) => ({
				rel,
				drying: dryingIn(book.tickets.filter((t) => t.truckLoad === truckLoad)),
			})),
		limit: limit_pct === null ? null : limit_pct / 100,
		drying: dryingIn(book.tickets),
		unit: unitSlip(reference.ratio, plan) !== null,
	});
}

/** The caution for explanations that remain besides correct tickets. */
export function ticketCaution(
	book: LoadBook,
	plan: FieldPlan,
	reference: Reference,
	slips: readonly TicketSlip[],
): string {
	const off = reference.ratio - 1;
	const limit_pct = statedLimit_pct(book, plan);
	const more = `${(100 * Math.abs(off)).toFixed(1)}% ${off < 0 ? 'less' : 'more'} than`;
	const size = `The tickets come to ${Math.abs(off) < 1 ? more : `${reference.ratio.toPrecision(3)} times`} the cart's weights of the same grain`;
	const against =
		limit_pct !== null && 100 * Math.abs(off) > limit_pct
			? `, beyond the cart scale's stated limit of ±${limit_pct}%`
			: '';
	const dry = slips.find((s) => s.kind === 'dry');
	const unit = unitSlip(reference.ratio, plan);
	const cause = unit
		? `Possible cause: ${unit}, or the cart scale is off`
		: dry
			? `Possible cause: the tickets are dry weights at ${plan.crop.market_moisture_pct}% moisture, which would come to ${(100 * Math.abs(dry.by)).toFixed(1)}% less; or the cart scale is off`
			: 'Possible causes: tickets for other grain, net and gross weights confused, or a cart scale that is off';
	return `${size}${against}. ${cause}. The factors allow for each, so their intervals are wide. Check the tickets.`;
}

/** The widest limit stated of the scales that weighed dumps, or of all where these are not described; null where none is. */
export function statedLimit_pct(book: LoadBook, plan: FieldPlan): number | null {
	const names = new Set(book.dumps.map((d) => d.scale));
	const own = Object.keys(plan.scales).filter((name) => names.has(name));
	const scales = (own.length > 0 ? own : Object.keys(plan.scales)).map((name) => plan.scales[name]!);
	return max(scales, (s) => s.limit_pct ?? undefined) ?? null;
}

/**
 * Probability that ticket moistures are on a dry basis, and the difference that would make, by Bayes' rule from usual
 * sensor errors and the alternative of a faulty sensor. Only where all combines differ alike.
 */
export function dryBasis(book: LoadBook, moisture: readonly MoistureOffset[]): { weight: number; points: number } {
	const none = { weight: 0, points: 0 };
	const offsets = moisture.filter((m) => m.source === 'tickets').map((m) => m.given_pct ?? m.offset_pct);
	if (offsets.length === 0 || Math.min(...offsets) < MOISTURE.common_pct) return none;
	const moistures_pct = book.tickets.map((t) => t.moisture_pct).filter((m) => m > 0);
	const middle = quantileOf(moistures_pct, 0.5);
	// M on a dry basis is 100 M / (100 + M) on a wet one.
	const points = middle - (100 * middle) / (100 + middle);
	const mean = offsets.reduce((a, b) => a + b, 0) / offsets.length;
	const { wrong, wrong_u_pct, unchecked_u_pct } = MOISTURE;
	const right = (1 - wrong) * normalDensity(mean, unchecked_u_pct) + wrong * normalDensity(mean, wrong_u_pct);
	const dry = MOISTURE.dryBasis * normalDensity(mean - points, unchecked_u_pct);
	const weight = dry / (right + dry);
	return weight > LEAST ? { weight, points } : none;
}

/**
 * Cautions on moistures of tickets that are not used, that contradict each other, and that differ from all sensors by more
 * than sensor error.
 */
export function moistureSlips(book: LoadBook, moisture: readonly MoistureOffset[]): string[] {
	const { apart_pct, differ_pct, odd = [] } = moisture[0] ?? {};
	const cautions = odd.map(
		({ ticket, by_pct }) =>
			`The moisture of ticket ${book.tickets[ticket]!.ticket} is ${Math.abs(by_pct).toFixed(1)} points ${by_pct > 0 ? 'above' : 'below'} what the other tickets make of the sensors. It is not used: check it.`,
	);
	if (differ_pct !== undefined)
		cautions.push(
			`Two moisture sensors differ by ${differ_pct.toFixed(1)} points on the same ground, more than sensor errors do, and no ticket's moisture shows which is right. Dry weights depend on it: get the moisture of a few loads of each combine.`,
		);
	if (apart_pct !== undefined)
		cautions.push(
			`The tickets' moistures contradict each other by up to ${apart_pct.toFixed(1)} points about what the sensors recorded of the same grain, and the offsets are as uncertain. Possible causes: a mistyped value, another basis, or tickets for other grain. Check the moisture column.`,
		);
	const offsets = moisture.filter((m) => m.source === 'tickets').map((m) => m.given_pct ?? m.offset_pct);
	if (offsets.length === 0) return cautions;
	const least = Math.min(...offsets);
	const most = Math.max(...offsets);
	const alike =
		offsets.length > 1 && least * most > 0 && Math.min(Math.abs(least), Math.abs(most)) > MOISTURE.common_pct;
	const far = offsets.some((o) => Math.abs(o) > MOISTURE.far_pct);
	if (!alike && !far) return cautions;
	const { weight, points } = dryBasis(book, moisture);
	const mean = offsets.reduce((a, b) => a + b, 0) / offsets.length;
	const cause =
		weight > 0
			? `Possible cause: the ticket moistures are on a dry basis, which would make ${points.toFixed(1)} points; the offsets allow for it.`
			: 'Possible causes: moistures on another basis, tickets for other grain, or sensors set for the wrong crop.';
	const size = alike
		? `The tickets' moisture is ${Math.abs(mean).toFixed(1)} points ${mean > 0 ? 'above' : 'below'} the sensors of all combines`
		: `A moisture sensor is ${Math.abs(Math.abs(most) > Math.abs(least) ? most : least).toFixed(1)} points off the tickets`;
	return [
		...cautions,
		`${size}, more than the usual sensor error. ${cause} Dry weights depend on it. Check the moisture column.`,
	];
}
