import { MONITOR } from '../../model/index.ts';
import { normalDensity } from '../../stats/index.ts';
import type { Grain, Load } from './load-moments.ts';

/** Shorter runs of the auger are not an unloading, seconds. */
export const LEAST_RUN_S = 20;
/** Share of fields in which trucks take whole tank loads, and of their loads that end with one (common practice). */
const WHOLE_TANKS = 0.5;
const ENDS_WITH_TANK = 0.95;
/** Grain that a tank keeps or gives more, kg (common practice). */
const KEEPS_KG = 60;
/** Factors this far apart are tried where a load's weight is open, in logarithms. */
const STEP = 0.01;
/** An open load weighs what is usual within so many standard deviations. */
const FAR = 3;

/** Cost of a load that ends with no tank load; so far off it is none, in standard deviations. */
const ANYWHERE = -Math.log(1 - ENDS_WITH_TANK);
const FAR_OFF = 5;

/** Loads with the weights of those without a ticket, the factor, and −ln of the odds against loads that end anywhere. */
export interface Found {
	loads: readonly Load[];
	factor: number;
	cost: number;
}

/**
 * Lays truckloads on the runs of the auger: where trucks take whole tank loads, each is the sum of some. A load without a
 * ticket takes what lies between, so its weight and the factor follow.
 */
export function byRuns(grain: Grain, loads: readonly Load[], usual_kg: number, spread_kg: number): Found {
	const { problem, combines, ratio } = grain;
	const sum = loads.reduce((s, l) => s + l.kg, 0);
	const factor = sum / combines.reduce((s, c, i) => s + ratio[i]! * problem.flows[c]!.total_kg, 0);
	const plain: Found = { loads, factor, cost: 0 };
	const flow = problem.flows[combines[0]!]!;
	const runs = problem.runs[combines[0]!]?.list.filter((r) => r.end_s - r.start_s >= LEAST_RUN_S) ?? [];
	if (combines.length > 1 || runs.length < loads.length) return plain;
	const ends = [0, ...runs.map((r) => r.endMass_kg)];
	ends[ends.length - 1] = flow.total_kg;
	const open = loads.filter((l) => l.ticket < 0).length;
	const reach = Math.ceil((FAR * spread_kg * Math.sqrt(open)) / (STEP * sum));
	const weights = { usual_kg, spread_kg };
	let odds = 0;
	let best: Laid & { factor: number } = { cost: Infinity, kg: [], factor };
	for (let j = -reach; j <= reach; j++) {
		const tried = factor * Math.exp(j * STEP);
		const laid = layOn(ends, loads, tried, weights, STEP * sum);
		odds += Math.exp(-laid.cost);
		if (laid.cost < best.cost) best = { ...laid, factor: tried };
	}
	const cost = -Math.log(WHOLE_TANKS * odds + 1 - WHOLE_TANKS);
	if (!(cost < 0)) return { ...plain, cost };
	const laid = loads.map((l, i) => (l.ticket < 0 ? { ...l, kg: best.kg[i]! } : l));
	// What was cut for loads with a ticket gives the factor.
	const weighed = laid.reduce((s, l, i) => s + (l.ticket < 0 ? 0 : best.kg[i]! / best.factor), 0);
	const own = laid.reduce((s, l) => s + (l.ticket < 0 ? 0 : l.kg), 0);
	const found = open > 0 && weighed > 0 ? own / weighed : factor;
	return {
		loads: laid.map((l) => (l.ticket < 0 ? { ...l, kg: (l.kg * found) / best.factor } : l)),
		factor: found,
		cost,
	};
}

interface Laid {
	cost: number;
	/** Of each load, by the monitor with the factor tried. */
	kg: number[];
}

/** The cheapest way to end every load with a run of the auger, the last one with the last. */
function layOn(
	ends: readonly number[],
	loads: readonly Load[],
	factor: number,
	{ usual_kg, spread_kg }: { usual_kg: number; spread_kg: number },
	step_kg: number,
): Laid {
	const R = ends.length - 1;
	const heaviest_kg = usual_kg + FAR_OFF * spread_kg;
	const fill_kg = (factor * ends[R]!) / R;
	const gain = Math.max(...loads.map((l) => (l.ticket < 0 ? 0 : -misfit(l, l.kg))));
	let costs = ends.map((_, r) => (r === 0 ? 0 : Infinity));
	const from: number[][] = [];
	// The weight of the first open load follows from the factor tried, that of another from where it ends.
	let within_kg = step_kg;
	for (const [i, load] of loads.entries()) {
		const most_kg = load.ticket < 0 ? heaviest_kg : load.kg + FAR_OFF * uOf(load);
		const back: number[] = [];
		const next = [Infinity];
		let lowest = 0;
		for (let r = 1; r <= R; r++) {
			if (costs[r - 1]! < costs[lowest]!) lowest = r - 1;
			// Where it ends with no tank load it ends anywhere.
			let least = load.ticket < 0 ? Infinity : costs[lowest]! + ANYWHERE;
			back[r] = lowest;
			for (let before = r - 1; before >= 0; before--) {
				const by_kg = factor * (ends[r]! - ends[before]!);
				if (by_kg > most_kg) break;
				const cost = costs[before]! + misfit(load, by_kg);
				if (cost < least) {
					least = cost;
					back[r] = before;
				}
			}
			next.push(least);
		}
		if (load.ticket < 0) within_kg = fill_kg;
		costs = next;
		from.push(back);
		// What can still be gained does not suffice.
		if (Math.min(...costs) - gain * (loads.length - 1 - i) > 0) return { cost: Infinity, kg: [] };
	}
	const kg: number[] = [];
	let at = R;
	for (let i = loads.length - 1; i >= 0 && Number.isFinite(costs[R]!); i--) {
		const before = from[i]![at]!;
		kg[i] = factor * (ends[at]! - ends[before]!);
		at = before;
	}
	return { cost: costs[R]!, kg };

	function misfit(load: Load, by_kg: number): number {
		if (load.ticket < 0) return -Math.log(normalDensity(by_kg - usual_kg, spread_kg) * within_kg);
		return -Math.log(ENDS_WITH_TANK * normalDensity(by_kg - load.kg, uOf(load)) * fill_kg + 1 - ENDS_WITH_TANK);
	}
}

/** Standard uncertainty of a load as the sum of whole tank loads, kg. */
const uOf = ({ kg }: Load): number => Math.hypot(2 * MONITOR.fill * kg, KEEPS_KG);
