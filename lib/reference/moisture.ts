import {
	type Account,
	type FieldPlan,
	isSensed,
	type LoadBook,
	type Match,
	MOISTURE,
	type MoistureOffset,
	type Records,
	type SeamJump,
	type Track,
} from '../model/index.ts';
import { type LinearFit, weightedRegression } from '../stats/index.ts';
import { joinTickets } from './join.ts';
import { dryBasis } from './slips.ts';
import { type Share, ticketGrain } from './ticket-grain.ts';
import { unsensedMoisture } from './unsensed.ts';

const { ticket_u_pct: TICKET_U, unchecked_u_pct: UNCHECKED_U, seam_u_pct: SEAM_U, seam_m: SEAM_LENGTH_M } = MOISTURE;
/** A ticket this many standard uncertainties off the others is an outlier. */
const ODD = 4;
/** Tickets that scatter by more than this times their uncertainty contradict each other. */
const BIRGE = 3;
/** Least share of the load for a combine to count in a ticket. */
const PART = 0.05;

/**
 * Certified less sensed moisture, all combines solved together: each ticket is one equation in the offsets of the
 * combines whose grain it holds, weighted by mass; a seam gives the difference of two sensors; without evidence an
 * offset is 0 with u = 0.6 points.
 */
export function moistureOffsets(input: {
	book: LoadBook;
	plan: FieldPlan;
	records: Records;
	account: Account;
	track: Track;
	match: Match;
	seams: SeamJump[];
}): MoistureOffset[] {
	const { records, seams } = input;
	const n = records.combines.length;
	if (!records.moisture_pct.some(isSensed)) {
		const standIn = unsensedMoisture(input.book, input.plan);
		const { u_pct } = standIn;
		return records.combines.map((_, c) => ({ combine: c, offset_pct: 0, u_pct, n: 0, source: 'none', standIn }));
	}
	const book = joinTickets(input.book);
	const grain = ticketGrain({ ...input, book });
	const tickets: Equation[] = [];
	book.tickets.forEach((ticket, t) => {
		const equation = ticketEquation(ticket.moisture_pct, grain[t]!, n);
		if (equation) tickets.push({ ...equation, ticket: t });
	});
	const others: Equation[] = [];
	for (const jump of seams) {
		if (!(jump.length_m >= SEAM_LENGTH_M) || !Number.isFinite(jump.moisture_diff_pct)) continue;
		// The same grain on both sides of a seam: a + offset_a = b + offset_b.
		const row = new Array<number>(n).fill(0);
		row[jump.combineA] = -1;
		row[jump.combineB] = 1;
		others.push({ row, y: jump.moisture_diff_pct, u: SEAM_U });
	}
	for (let c = 0; c < n; c++) {
		const row = new Array<number>(n).fill(0);
		row[c] = 1;
		others.push({ row, y: 0, u: UNCHECKED_U });
	}

	let used = tickets;
	let fit = solve([...used, ...others]);
	for (let turn = 0; turn < tickets.length; turn++) {
		const worst = oddest(used, fit.beta);
		if (worst < 0) break;
		used = used.filter((_, i) => i !== worst);
		fit = solve([...used, ...others]);
	}
	const off_pct = (e: Equation) => e.y - e.row.reduce((sum, v, c) => sum + v * fit.beta[c]!, 0);
	const odd = tickets.filter((e) => !used.includes(e)).map((e) => ({ ticket: e.ticket!, by_pct: off_pct(e) }));
	// Tickets that contradict each other are as uncertain as they scatter (Birge 1932).
	const birge = Math.sqrt(used.reduce((sum, e) => sum + (off_pct(e) / e.u) ** 2, 0) / Math.max(1, used.length - 1));
	const contradict = birge > BIRGE;
	const apart_pct = Math.max(0, ...used.map((e) => Math.abs(off_pct(e))));
	if (contradict) fit = solve([...used.map((e) => ({ ...e, u: e.u * birge })), ...others]);
	const evidence = { ...(odd.length > 0 ? { odd } : {}), ...(contradict ? { apart_pct } : {}) };
	// No ticket shows which of two sensors that read the same ground differently is right.
	const differ_pct = Math.max(0, ...others.filter((e) => e.u === SEAM_U).map((e) => Math.abs(e.y)));
	const differ = used.length === 0 && differ_pct > MOISTURE.far_pct;
	const unchecked = {
		offset_pct: 0,
		u_pct: differ ? Math.hypot(UNCHECKED_U, differ_pct / 2) : UNCHECKED_U,
		...(differ ? { differ_pct } : {}),
	};
	const offsets = records.combines.map((_, c): MoistureOffset => {
		const count = used.filter((e) => e.row[c]! > PART).length;
		const u = Math.sqrt(fit.covariance[c * n + c]!);
		const determined = u < 0.9 * UNCHECKED_U && used.length > 0;
		return determined
			? { combine: c, offset_pct: fit.beta[c]!, u_pct: u, n: count, source: 'tickets', ...evidence }
			: { combine: c, ...unchecked, n: 0, source: 'none', ...evidence };
	});
	// Where the tickets' moistures may be on a dry basis, the offsets are the mixture of both readings.
	const { weight, points } = dryBasis(book, offsets);
	if (weight === 0) return offsets;
	return offsets.map((o) =>
		o.source === 'none'
			? o
			: {
					...o,
					given_pct: o.offset_pct,
					offset_pct: o.offset_pct - weight * points,
					u_pct: Math.hypot(o.u_pct, points * Math.sqrt(weight * (1 - weight))),
				},
	);
}

interface Equation {
	row: number[];
	y: number;
	u: number;
	/** The ticket that it is of, by index. */
	ticket?: number;
}

function ticketEquation(moisture_pct: number, shares: Share[], n: number): Equation | null {
	if (!(moisture_pct > 3 && moisture_pct < 50) || shares.length === 0) return null;
	let total = 0;
	for (const s of shares) total += s.kg;
	const row = new Array<number>(n).fill(0);
	let sensed = 0;
	for (const s of shares) {
		const share = s.kg / total;
		if (!Number.isFinite(s.sensed_pct)) {
			if (share > PART) return null;
			continue;
		}
		row[s.combine] = row[s.combine]! + share;
		sensed += share * s.sensed_pct;
	}
	const covered = row.reduce((a, b) => a + b, 0);
	if (!(covered > 0)) return null;
	return { row, y: moisture_pct - sensed / covered, u: TICKET_U };
}

function solve(equations: Equation[]): LinearFit {
	return weightedRegression(
		equations.map((e) => e.row),
		equations.map((e) => e.y),
		equations.map((e) => e.u ** -2),
	);
}

/** The ticket with the largest residual if it is an outlier; −1 where none is, or where there are too few tickets. */
function oddest(tickets: Equation[], beta: Float64Array): number {
	if (tickets.length < 3) return -1;
	let worst = -1;
	let most = ODD;
	tickets.forEach((e, i) => {
		const rest = e.y - e.row.reduce((sum, v, c) => sum + v * beta[c]!, 0);
		const size = Math.abs(rest) / e.u;
		if (size > most) {
			most = size;
			worst = i;
		}
	});
	return worst;
}
