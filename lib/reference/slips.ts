import type { FieldPlan, LoadBook, MoistureOffset, Reference, Ticket } from '../model/index.ts';
import { quantile } from '../stats/index.ts';

/** A ratio this much beyond what is stated of the scale contradicts it, in its own standard uncertainties. */
const BEYOND = 2;
/** Tickets are compared with dry weights only where drying makes at least this difference, relative. */
const LEAST_DRYING = 0.012;
/** A moisture offset beyond this is more than a sensor errs by, points (common practice). */
const FAR_POINTS = 2;
/** Offsets from here on that are alike on all combines are the tickets' rather than the sensors', points. */
const COMMON_POINTS = 1.2;
/** A slip explains a difference when it leaves no more than this of it. */
const LEFT = 0.35;

/**
 * Cautions on tickets that contradict what is stated of the cart's scale: the size, then the likely slips.
 *
 * @param reference - as the tickets make it
 */
export function ticketSlips(book: LoadBook, plan: FieldPlan, reference: Reference): string[] {
	if (reference.source !== 'tickets' || reference.n === 0 || book.dumps.length + book.offloads.length === 0) return [];
	const off = reference.ratio - 1;
	const stated = Object.values(plan.scales)
		.map((s) => s.limit_pct)
		.filter((l): l is number => l !== null);
	const limit = stated.length > 0 ? Math.max(...stated) / 100 : null;
	const drying = dryingOf(book.tickets, plan.crop.market_moisture_pct);
	const asDry = Math.abs(off - drying) < Math.max(BEYOND * reference.u_rel, LEFT * Math.abs(drying));
	const dry = drying < -LEAST_DRYING && asDry;
	const contradicts = limit !== null && Math.abs(off) > limit + BEYOND * reference.u_rel;
	if (!contradicts && !(dry && Math.abs(off) > BEYOND * reference.u_rel)) return [];
	const size = `The tickets come to ${(100 * Math.abs(off)).toFixed(1)}% ${off < 0 ? 'less' : 'more'} than the cart's weights of the same grain`;
	const against = contradicts ? `, beyond the cart scale's stated limit of ±${+(100 * limit).toFixed(2)}%` : '';
	const cause = dry
		? `Possible cause: the tickets are dry weights at ${plan.crop.market_moisture_pct}% moisture, which would come to ${(100 * Math.abs(drying)).toFixed(1)}% less`
		: 'Possible causes: tickets of other grain, net and gross weights confused, or a cart scale that is off';
	return [
		`${size}${against}. ${cause}. All factors follow the tickets, so they may be off by as much. Check the tickets.`,
	];
}

/** What drying to market moisture would take off the tickets' weights, relative and signed; 0 where no moisture is known. */
function dryingOf(tickets: readonly Ticket[], market_pct: number): number {
	let wet = 0;
	let dry = 0;
	for (const t of tickets) {
		if (!(t.moisture_pct > 0) || !(t.net_kg > 0)) continue;
		wet += t.net_kg;
		dry += (t.net_kg * (100 - t.moisture_pct)) / (100 - market_pct);
	}
	return wet > 0 ? dry / wet - 1 : 0;
}

/** Cautions on ticket moistures that are further from all sensors than sensors err. */
export function moistureSlips(book: LoadBook, moisture: readonly MoistureOffset[]): string[] {
	const known = moisture.filter((m) => m.source === 'tickets');
	if (known.length === 0) return [];
	const offsets = known.map((m) => m.offset_pct);
	const least = Math.min(...offsets);
	const most = Math.max(...offsets);
	const alike = known.length > 1 && least * most > 0 && Math.min(Math.abs(least), Math.abs(most)) > COMMON_POINTS;
	const far = offsets.some((o) => Math.abs(o) > FAR_POINTS);
	if (!alike && !far) return [];
	const read = book.tickets.map((t) => t.moisture_pct).filter((m) => m > 0);
	const middle = quantile(
		read.sort((a, b) => a - b),
		0.5,
	);
	// M on a dry basis is 100 M / (100 + M) on a wet one.
	const basis = middle - (100 * middle) / (100 + middle);
	const mean = offsets.reduce((a, b) => a + b, 0) / offsets.length;
	const cause =
		Math.abs(mean - basis) < LEFT * basis
			? `Possible cause: the ticket moistures are on a dry basis, which would make ${basis.toFixed(1)} points.`
			: 'Possible causes: moistures on another basis, tickets of other grain, or sensors of a wrong crop setting.';
	const size =
		known.length > 1 && alike
			? `The tickets' moisture is ${Math.abs(mean).toFixed(1)} points ${mean > 0 ? 'above' : 'below'} the sensors of all combines`
			: `A moisture sensor is ${Math.abs(Math.abs(most) > Math.abs(least) ? most : least).toFixed(1)} points off the tickets`;
	return [`${size}, more than sensors usually err. ${cause} Dry weights depend on it. Check the moisture column.`];
}
