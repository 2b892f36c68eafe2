import { type Match, TANK, type Ticket, type Unloading, type Weighing } from '../../model/index.ts';
import { median } from '../../stats/index.ts';
import type { MatchInput } from '../problem/input.ts';
import { massAt, recordsUntil, timeOfMass } from '../problem/mass.ts';
import type { Problem } from '../problem/problem.ts';
import { certified, dryingOf, dryWeight } from './total.ts';

/** Outside this range of ticket sum over monitor sum, some loads have no ticket or some tickets are from another field. */
const WHOLE: readonly [number, number] = [0.75, 1.33];

/** Latest ticket after the end of the logs, seconds: the last truck may be weighed the next day. */
const AFTER_S = 30 * 3600;

/** Drying by less than this does not matter, relative. */
const LEAST_DRYING = 0.002;

/** A truckload of more than this times the usual one is odd: gross weights are half as much again, pounds twice as many. */
const LARGE = 1.4;
/** So many tickets show what is usual. */
const ENOUGH = 4;

/** Tickets of one combine's grain, or of all combines that no ticket names. */
interface Group {
	combines: number[];
	/** Indices into LoadBook.tickets, in order. */
	tickets: number[];
}

/**
 * Matches tickets where there is no cart log. Trucks took the grain in order, so their weights divide each combine's log; the sum
 * is certain even where the divisions are not. Where the log has an auger signal, every run is an unloading and is assigned
 * to a truck.
 */
export function matchTickets(input: MatchInput, problem: Problem): Match {
	const { records, book, plan } = input;
	const cautions: string[] = [];
	const notes: string[] = [];
	const unloadings: Unloading[][] = records.combines.map(() => []);
	const factors = records.combines.map(() => Number.NaN);
	const aside: string[] = [];
	for (const group of groups(input, problem, aside)) {
		const mass = group.combines.reduce((s, c) => s + problem.flows[c]!.total_kg, 0);
		const weight = group.tickets.reduce((s, t) => s + book.tickets[t]!.net_kg, 0);
		const k = weight / mass;
		if (!(k > WHOLE[0] && k < WHOLE[1])) {
			const names = group.combines.map((c) => records.combines[c]).join(' and ');
			cautions.push(
				`The tickets add up to ${Math.round(100 * k)}% of what the monitors recorded for ${names}. They are not used: either some loads have no ticket, or some tickets are from another field.`,
			);
			continue;
		}
		const ratio = ratiosTo(problem, group.combines);
		const common = weight / group.combines.reduce((s, c, i) => s + ratio[i]! * problem.flows[c]!.total_kg, 0);
		group.combines.forEach((c, i) => {
			factors[c] = common * ratio[i]!;
		});
		if (group.combines.length > 1) {
			notes.push(
				'Tickets name no combine. They give the sum of the combines; only seams show the difference between them.',
			);
		}
		divideLogs(input, problem, group, factors, unloadings);
	}
	cautions.push(...aside);
	const flat = unloadings.flat();
	const used = [...new Set(flat.map((u) => book.tickets[u.ticket]!))];
	if (used.length > 0) cautions.push(alone(input, problem, used), ...large(used));

	const weighings: Weighing[] = book.tickets.flatMap((t, i) => {
		const own = flat.flatMap((u, at) => (u.ticket === i ? [at] : []));
		return own.length > 0 ? [certified(t.net_kg, 0.001 * t.net_kg, i, own)] : [];
	});
	if (plan.total) weighings.push(certified(plan.total.wet_kg, plan.total.u_rel * plan.total.wet_kg));
	return {
		clock: { offset_s: Number.NaN, u_s: Number.NaN, source: 'none', byDay: [] },
		unloadings: flat,
		fates: [],
		weighings,
		start_kg: records.combines.map(() => ({ kg: 0, u_kg: TANK.clinging_kg })),
		factors,
		independent: records.combines.map((_, c) => (Number.isFinite(factors[c]) ? 1 : 0)),
		clockFit: [],
		notes,
		cautions,
	};
}

/** What the sum of the tickets may lack or hold that is not of the field: nothing else shows it. */
function alone({ plan, records }: MatchInput, problem: Problem, tickets: readonly Ticket[]): string {
	const drying = dryingOf(records, problem, plan.crop.market_moisture_pct);
	const dry = Math.abs(drying) > LEAST_DRYING ? `, or if each gives ${dryWeight(plan, drying)}` : '';
	const load = `a load is about ${Math.round(100 / tickets.length)}% of all`;
	return `The sum of the tickets alone sets the level, and nothing weighed checks it. If a load has no ticket or a ticket is of another field (${load})${dry}, the factors are off by as much.`;
}

/** Tickets of more than a truck of this field's usually carries. */
function large(tickets: readonly Ticket[]): string[] {
	if (tickets.length < ENOUGH) return [];
	const usual_kg = median(tickets.map((t) => t.net_kg));
	return tickets
		.filter((t) => t.net_kg > LARGE * usual_kg)
		.map(
			(t) =>
				`Ticket ${t.ticket} is ${(t.net_kg / usual_kg).toFixed(1)} times the usual load. Possible causes: the gross weight for the net, another unit, or two loads in one. Check it.`,
		);
}

/** Groups tickets by the combine they name; those that name none are of all combines that no ticket names. */
function groups(input: MatchInput, problem: Problem, aside: string[]): Group[] {
	const { book, records } = input;
	const order = book.tickets
		.map((t, i) => ({ i, t }))
		.sort((a, b) => (Number.isFinite(a.t.time_s - b.t.time_s) ? a.t.time_s - b.t.time_s : 0) || a.t.order - b.t.order);
	const named = new Map<number, number[]>();
	const open: number[] = [];
	const from = Math.min(...problem.flows.filter((f) => f.total_kg > 0).map((f) => f.start_s));
	const to = Math.max(...problem.flows.filter((f) => f.total_kg > 0).map((f) => f.end_s));
	for (const { i, t } of order) {
		if (!(t.net_kg > 0)) continue;
		if (t.time_s + (t.timeGrain === 'day' ? 86_400 : 0) < from || t.time_s > to + AFTER_S) {
			aside.push(`Ticket ${t.ticket} is from a day on which this field was not cut. Not used.`);
			continue;
		}
		if (t.combine === null) {
			open.push(i);
			continue;
		}
		const c = records.combines.indexOf(t.combine);
		if (c < 0) {
			aside.push(`Ticket ${t.ticket} names combine ${t.combine}, which has no log here. Not used.`);
			continue;
		}
		named.set(c, [...(named.get(c) ?? []), i]);
	}
	if (open.length === 0) return [...named].map(([c, tickets]) => ({ combines: [c], tickets }));
	const rest = records.combines.map((_, c) => c).filter((c) => !named.has(c));
	// If every combine is named by some ticket and other tickets name none, only the sum over all is known.
	if (rest.length === 0) {
		const at = new Map(order.map(({ i }, place) => [i, place]));
		const all = [...named.values(), open].flat().sort((a, b) => at.get(a)! - at.get(b)!);
		return [{ combines: records.combines.map((_, c) => c), tickets: all }];
	}
	return [...[...named].map(([c, tickets]) => ({ combines: [c], tickets })), { combines: rest, tickets: open }];
}

/** Factors of the combines relative to the first one's, from seams; 1 without a seam. */
function ratiosTo(problem: Problem, combines: readonly number[]): number[] {
	const a = combines[0]!;
	return combines.map((c) => {
		if (c === a) return 1;
		for (const r of problem.priors.ratios) {
			if (r.a === a && r.b === c) return r.ratio;
			if (r.a === c && r.b === a) return 1 / r.ratio;
		}
		return 1;
	});
}

/** Divides the logs of a group of combines by its tickets; appends to `unloadings`, one list per combine. */
function divideLogs(
	{ book, records }: MatchInput,
	problem: Problem,
	group: Group,
	factors: readonly number[],
	unloadings: Unloading[][],
): void {
	const sums: number[] = [];
	let sum = 0;
	for (const t of group.tickets) {
		sum += book.tickets[t]!.net_kg;
		sums.push(sum);
	}
	const moments = sums.map((kg) => timeOfSum(problem, group.combines, factors, kg));
	for (const c of group.combines) {
		const f = problem.flows[c]!;
		const name = records.combines[c]!;
		const ends = runsByTicket(problem.runs[c]?.list ?? [], moments);
		const list = unloadings[c]!;
		let from = 0;
		group.tickets.forEach((t, j) => {
			const last = j === group.tickets.length - 1;
			const places = ends?.[j] ?? [{ start_s: moments[j]! - 120, end_s: last ? f.end_s + 1 : moments[j]! }];
			places.forEach((place, n) => {
				const final = n === places.length - 1;
				const to = last && final ? f.index.length : Math.max(from, recordsUntil(f, place.end_s));
				const account_kg = f.sum_kg[to]! - f.sum_kg[from]!;
				// The division between two trucks may fall within a tank or a cart load.
				const u = final && !last ? 0.5 * problem.fill_kg : TANK.clinging_kg;
				list.push({
					combine: c,
					fill: `${name}${list.length + 1}`,
					start_s: place.start_s,
					end_s: last && final ? Math.max(f.end_s, place.end_s) : place.end_s,
					u_s: ends ? 5 : 600,
					from,
					to,
					account_kg,
					u_account_kg: 0,
					rest_kg: 0,
					u_rest_kg: u,
					dump: -1,
					ticket: t,
					unweighed: `into a truck, part of ticket ${book.tickets[t]!.ticket}`,
					deduced_kg: account_kg * factors[c]!,
				});
				from = to;
			});
		});
	}
}

/** Runs of the auger by ticket: each up to the run that ended nearest to the moment of its sum; null where a ticket would have none. */
function runsByTicket<T extends { start_s: number; end_s: number }>(
	all: readonly T[],
	moments: readonly number[],
): T[][] | null {
	const runs = all.filter((r) => r.end_s - r.start_s >= 20);
	const groups = moments.map((): T[] => []);
	for (const [i, run] of runs.entries()) {
		const middle = (run.end_s + (runs[i - 1]?.end_s ?? run.end_s)) / 2;
		const j = moments.findIndex((moment) => moment > middle);
		groups[j < 0 ? groups.length - 1 : j]!.push(run);
	}
	return groups.every((g) => g.length > 0) ? groups : null;
}

/** The time by which the combines together had cut this mass. */
function timeOfSum(problem: Problem, combines: readonly number[], factors: readonly number[], kg: number): number {
	if (combines.length === 1) {
		const c = combines[0]!;
		return timeOfMass(problem.flows[c]!, kg / factors[c]!);
	}
	let low = Math.min(...combines.map((c) => problem.flows[c]!.start_s));
	let high = Math.max(...combines.map((c) => problem.flows[c]!.end_s));
	for (let n = 0; n < 50; n++) {
		const mid = (low + high) / 2;
		const sum = combines.reduce((s, c) => s + factors[c]! * massAt(problem.flows[c]!, mid), 0);
		if (sum < kg) low = mid;
		else high = mid;
	}
	return high;
}
