import { MONITOR, TICKETS, type Ticket } from '../../model/index.ts';
import { mad, median, normalDensity, upperMedian } from '../../stats/index.ts';
import { type Grain, type Load, momentsOf } from './load-moments.ts';
import { byRuns } from './loads-by-runs.ts';

/** One way to read the tickets of some combines: the truckloads that took their grain, in order. */
export interface Haul {
	loads: readonly Load[];
	/** What is not as it should be, in words; null = every load has its ticket. */
	odd: string | null;
	/** The same without saying which ticket or where. */
	loosely: string;
	/** Sum of the loads over what the monitors recorded. */
	factor: number;
	/** −ln of prior odds. */
	prior: number;
	/** −ln of prior odds times likelihood. */
	cost: number;
}

/** Weights of trucks differ by this at least, relative standard deviation (common practice). */
const SPREAD = 0.1;
/** Share of loads that are part of a truck or of a truck of another size, up to this times the usual one (common practice). */
const OTHER_SIZE = 0.05;
const LARGEST = 2;
/** Elevators round to this, kg (common practice). */
const STEP_KG = 10;
/** Two loads of a field have the same time in one pair of this many. */
const SAME_TIME = 1 / 200;
/** A wrong weight may be up to this times the usual one: pounds are twice as many. */
const WRONG_UP_TO = 3;
/** So many tickets show what is usual. */
const ENOUGH = 4;
/** A second load without a ticket is looked for beside this many likeliest places of one. */
const FOLLOWED = 3;
/** Share of tickets weighed at any other time: the last truck waits until the next morning (common practice). */
const LATER = 0.05;
/** A ticket or a place is named where it is at least so likely among those that give one factor. */
const NAMED = 0.6;
/** Hauls whose factors are nearer than this have one factor, relative. */
const SAME = 0.01;

/**
 * Ways to read the tickets of a group: each load with its ticket; a load without one; a ticket that is of another field, was
 * entered twice or has a wrong weight; and a load without ticket beside any of these. How likely each is follows from the
 * factor that it gives, the sizes of the loads, the times of the tickets against what was cut by then, and whole tank loads
 * where the auger shows them.
 *
 * @param own - of the group, indices into `grain.tickets`, in order
 * @returns one haul for each factor, with the probability of all that give it, likeliest first
 */
export function haulsOf(grain: Grain, own: readonly number[]): Haul[] {
	const { tickets } = grain;
	const kg = own.map((t) => tickets[t]!.net_kg);
	const usual_kg = median(kg);
	const spread_kg = Math.max(SPREAD * usual_kg, mad(kg));
	const whole = own.map((t): Load => ({ ticket: t, kg: tickets[t]!.net_kg }));
	const judged = (loads: readonly Load[], odd: string | null, loosely: string, prior: number): Haul => {
		const found = byRuns(grain, loads, usual_kg, spread_kg);
		const { cost, factor } = found;
		const misfit = (Math.log(factor) / MONITOR.factor) ** 2 / 2;
		return {
			loads: found.loads,
			odd,
			loosely,
			factor,
			prior,
			cost: prior + misfit + cost + timesCost(grain, found.loads, factor),
		};
	};
	const missing = (from: readonly Load[], prior: number, also: string | null): Haul[] =>
		Array.from({ length: from.length + 1 }, (_, at) => {
			const loads = [...from.slice(0, at), { ticket: -1, kg: usual_kg }, ...from.slice(at)];
			const odd = `a truckload ${between(grain, from, at)} has no ticket`;
			const all = also ? `${also}, and ${odd}` : odd;
			const loosely = also ? 'two truckloads have no ticket' : 'a truckload has no ticket';
			return judged(loads, all, loosely, prior + Math.log(from.length + 1));
		});
	const n = whole.length;
	const hauls = [judged(whole, null, '', 0), ...missing(whole, -Math.log(TICKETS.fault), null)];
	for (const [at, load] of whole.entries()) {
		const name = `ticket ${tickets[load.ticket]!.ticket}`;
		const rest = whole.filter((_, i) => i !== at);
		const right = density(load.kg);
		if (n > 1)
			hauls.push(
				judged(rest, `${name} is of another field`, 'a ticket is of another field', Math.log(n / TICKETS.fault)),
			);
		if (whole.some((o, i) => i < at && alike(tickets[o.ticket]!, tickets[load.ticket]!))) {
			const chance = n * n * STEP_KG * right * (tickets[load.ticket]!.timeGrain === 'day' ? 1 : SAME_TIME);
			hauls.push(
				judged(rest, `${name} is entered twice`, 'a ticket is entered twice', Math.log(chance / TICKETS.fault)),
			);
		}
		const wrong = whole.with(at, { ticket: -1, kg: usual_kg });
		const chance = n * right * WRONG_UP_TO * usual_kg;
		if (n >= ENOUGH)
			hauls.push(
				judged(wrong, `${name} has a wrong weight`, 'a ticket has a wrong weight', Math.log(chance / TICKETS.fault)),
			);
	}
	hauls.sort(cheapest);
	for (const again of hauls.filter((h) => h.loads.length > n).slice(0, FOLLOWED))
		hauls.push(...missing(again.loads, again.prior - Math.log(TICKETS.another), again.odd));
	return merged(hauls.sort(cheapest));

	/** Of a right weight, per kg. */
	function density(weight_kg: number): number {
		const full = normalDensity(weight_kg - usual_kg, spread_kg);
		const largest_kg = LARGEST * usual_kg;
		return (1 - OTHER_SIZE) * full + (OTHER_SIZE * Number(weight_kg < largest_kg)) / largest_kg;
	}
}

/** Whether two tickets could be of one truckload: a number that was mistyped lets the same row in again. */
const alike = (a: Ticket, b: Ticket): boolean =>
	a.net_kg === b.net_kg && Object.is(a.time_s, b.time_s) && Object.is(a.moisture_pct, b.moisture_pct);

const cheapest = (a: Haul, b: Haul): number => a.cost - b.cost;

/** One haul for each factor: the likeliest, with the probability of all. */
function merged(hauls: readonly Haul[]): Haul[] {
	const groups: { first: Haul; likelihood: number }[] = [];
	for (const haul of hauls) {
		const group = groups.find((g) => Math.abs(Math.log(g.first.factor / haul.factor)) < SAME);
		if (group) group.likelihood += Math.exp(group.first.cost - haul.cost);
		else groups.push({ first: haul, likelihood: 1 });
	}
	return groups
		.map(({ first, likelihood }) => ({
			...first,
			odd: first.odd && likelihood > 1 / NAMED ? first.loosely : first.odd,
			cost: first.cost - Math.log(likelihood),
		}))
		.sort(cheapest);
}

/** Cost of the tickets' times: each is a drive after its load was cut, about as long as the others'. */
function timesCost(grain: Grain, loads: readonly Load[], factor: number): number {
	const moments = momentsOf(grain, loads, factor);
	const drives = loads.flatMap(({ ticket }, i) => {
		const t = grain.tickets[ticket];
		return t && t.timeGrain !== 'day' && Number.isFinite(t.time_s) ? [t.time_s - moments[i]!] : [];
	});
	const usual = upperMedian(drives);
	return drives.reduce((sum, d) => {
		const near = Math.exp(-(((d - usual) / TICKETS.road_s) ** 2) / 2);
		return sum - Math.log((1 - LATER) * near + LATER);
	}, 0);
}

/** Where a load without a ticket stands. */
function between({ tickets }: Grain, loads: readonly Load[], at: number): string {
	const name = (load: Load | undefined) => (load && load.ticket >= 0 ? tickets[load.ticket]!.ticket : null);
	const [before, after] = [name(loads[at - 1]), name(loads[at])];
	if (before && after) return `between tickets ${before} and ${after}`;
	if (before) return `after ticket ${before}`;
	return after ? `before ticket ${after}` : 'beside another';
}
