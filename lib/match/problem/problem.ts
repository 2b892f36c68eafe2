import { MONITOR, type Records } from '../../model/index.ts';
import { columnOf } from '../../stats/index.ts';
import type { Runs } from './auger-runs.ts';
import { COSTS, STANDING } from './costs.ts';
import type { Deduced } from './deduced.ts';
import { type Flowing, flowAround, massAt, recordsUntil, stoodShare } from './mass.ts';
import type { Observation } from './observations.ts';

/** Prior probabilities and distributions of the match. */
export interface Priors {
	/** Factor of each combine: mean and standard deviation. */
	factor: number[];
	u_factor: number[];
	/** Factor b / factor a from seams, with standard uncertainties. */
	ratios: { a: number; b: number; ratio: number; u: number }[];
	/** Share of the grain that was weighed, and costs of an unloading without a weight: without an auger signal, and with one. */
	weighed: number;
	unweighed: number;
	unweighedSeen: number;
}

/** Input of the search, apart from the clock's offset. */
export interface Problem {
	flows: Flowing[];
	/** Runs of the auger, per combine; null where there is no signal. */
	runs: (Runs | null)[];
	observations: Observation[];
	/** Unloadings whose weight the cart's level or a ticket tells. */
	deduced: Deduced[];
	/** Tank capacity per combine, reference kg. */
	tank_kg: number[];
	/** Mean flow while moving, per combine, kg/s. */
	usualFlow_kg_s: number[];
	/** Mass of a usual fill, kg. */
	fill_kg: number;
	/** Cost of a dump that names no combine being mixed. */
	mixedCost: number;
	/** Weights are of whole cart loads: several unloadings, often of several combines, in one weight. */
	wholeLoads: boolean;
	/** Dumps that name no combine may be of grain that no log holds. */
	incomplete: boolean;
	/** The cart log has offloads, so its level shows unsaved dumps. */
	hasOffloads: boolean;
	places: Places | null;
	/** For a part of the dumps: the time of the last one before them, cart clock; null for all. */
	after_s: number | null;
	/** More dumps follow, so grain in the tanks at the end has no cost. */
	endsEarly: boolean;
	priors: Priors;
}

/** Whether a dump's time of day is known. */
export const isTimed = ({ observations }: Pick<Problem, 'observations'>): boolean =>
	observations.some((o) => Number.isFinite(o.time_s));

/** Positions of records in meters on a local plane, for fields whose cart log has positions. */
export interface Places {
	x_m: Float64Array;
	y_m: Float64Array;
	area_m2: number;
	toX(lon_deg: number): number;
	toY(lat_deg: number): number;
}

/** Projects positions to a plane at the first record, good enough for tens of meters; null where no dump has a position. */
export function places(records: Records, observations: readonly Observation[]): Places | null {
	if (!observations.some((s) => Number.isFinite(s.lat_deg) && Number.isFinite(s.lon_deg))) return null;
	let lat0 = Number.NaN;
	let lon0 = Number.NaN;
	for (let i = 0; i < records.n && !Number.isFinite(lat0); i++) {
		lat0 = records.lat_deg[i]!;
		lon0 = records.lon_deg[i]!;
	}
	if (!Number.isFinite(lat0) || !Number.isFinite(lon0)) return null;
	const perLat = 111_200;
	const perLon = perLat * Math.cos((lat0 * Math.PI) / 180);
	const toX = (lon: number): number => (lon - lon0) * perLon;
	const toY = (lat: number): number => (lat - lat0) * perLat;
	const x_m = columnOf(records.lon_deg, toX);
	const y_m = columnOf(records.lat_deg, toY);
	return { x_m, y_m, area_m2: spread(x_m) * spread(y_m), toX, toY };
}

/** Range between the 1st and 99th percentile, at least 100. */
function spread(values: Float64Array): number {
	const sorted = values.filter(Number.isFinite).sort();
	const n = sorted.length;
	return Math.max(100, sorted[Math.floor(0.99 * (n - 1))]! - sorted[Math.floor(0.01 * (n - 1))]!);
}

/** Values of the logs at the time of each dump, for one offset of the clock: observations × combines, row-major. */
export interface Table {
	offset_s: number;
	/** Log time of each observation. Rows are filled as needed, since the search at most offsets stops early. */
	time_s: number[];
	mass_kg: number[];
	flow_kg_s: number[];
	/** −ln of the likelihood ratio of a dump of this combine at this time to one at any time. */
	evidence: number[];
}

/** An empty table for one offset of the clock. */
export function emptyTable(offset_s: number): Table {
	return { offset_s, time_s: [], mass_kg: [], flow_kg_s: [], evidence: [] };
}

/** Fills the table's rows up to that of observation i. */
export function fillTo(problem: Problem, table: Table, i: number): void {
	while (table.time_s.length <= i) {
		const observation = problem.observations[table.time_s.length]!;
		const t = observation.time_s + table.offset_s;
		const timed = Number.isFinite(t);
		table.time_s.push(t);
		problem.flows.forEach((f, c) => {
			table.mass_kg.push(timed ? massAt(f, t) : 0);
			table.flow_kg_s.push(timed ? flowAround(f, t, 20) : 0);
			table.evidence.push(timed ? evidence(problem, c, observation, t) : 0);
		});
	}
}

/** −ln of the likelihood ratio of a dump of combine c that ends at log time t to one at any time, mass aside. */
export function evidence(problem: Problem, c: number, observation: Observation, t: number): number {
	const f = problem.flows[c]!;
	return standingCost(f, t) + placeCost(problem, f, observation, t);
}

function standingCost(f: Flowing, t: number): number {
	// A dump takes a minute or two, and its weight is taken at its end.
	const share = stoodShare(f, t - 70, t - 10);
	const span_s = f.end_s - f.start_s;
	const usual = span_s > 0 ? Math.min(0.6, Math.max(0.01, f.stood_s.at(-1)! / span_s)) : 0.3;
	// The more a combine is stopped in general, the more often it is at a dump.
	const standing = STANDING + (1 - STANDING) * usual;
	return -Math.log((share * standing + (1 - share) * (1 - standing)) / (share * usual + (1 - share) * (1 - usual)));
}

/** Cost of the distance between the cart's position at the weight and the combine's path during the dump. */
function placeCost(problem: Problem, f: Flowing, observation: Observation, t: number): number {
	const p = problem.places;
	if (p === null || !Number.isFinite(observation.lat_deg) || !Number.isFinite(observation.lon_deg)) return 0;
	const x = p.toX(observation.lon_deg);
	const y = p.toY(observation.lat_deg);
	let square = Infinity;
	const n = f.time_s.length;
	// The position may be of any moment of the dump.
	for (let back = 0; back <= 90; back += 15) {
		const k = Math.min(n - 1, Math.max(0, recordsUntil(f, t - back)));
		const i = f.index[k]!;
		const d = (p.x_m[i]! - x) ** 2 + (p.y_m[i]! - y) ** 2;
		if (d < square) square = d;
	}
	// One position in ten is of the truck, or out of date.
	const v = 40 * 40;
	const near = (0.9 * Math.exp(-square / (2 * v))) / (2 * Math.PI * v);
	return -Math.log(near * p.area_m2 + 0.1);
}

/** Cost of a run of the auger that is not an unloading of its own. */
export function idleRun(problem: Problem): number {
	return problem.wholeLoads ? COSTS.loadAgain : COSTS.augerFalse;
}

/** Priors before anything is known of the field. */
export function firstPriors(combines: number): Priors {
	return {
		factor: new Array<number>(combines).fill(1),
		u_factor: new Array<number>(combines).fill(MONITOR.factor),
		ratios: [],
		...priceUnweighed(1),
	};
}

/**
 * Costs of an unloading without a weight where this share of the grain was weighed: high where nearly all was, low where most
 * was not.
 */
export function priceUnweighed(weighed: number): Pick<Priors, 'weighed' | 'unweighed' | 'unweighedSeen'> {
	const own = -Math.log(Math.max(1e-9, 1 - weighed));
	return { weighed, unweighed: Math.min(COSTS.unweighed, own), unweighedSeen: Math.min(COSTS.unweighedSeen, own) };
}

/** Cost of having weighed so many dumps where this share of the grain was weighed: the counterpart of `priceUnweighed`. */
export function priceWeighed(dumps: number, weighed: number): number {
	return -dumps * Math.log(Math.max(1e-9, weighed));
}

/** Cost of weights of whole cart loads, where notes do not show it. */
export function loadsPrice({ wholeLoads, observations }: Problem): number {
	return wholeLoads && observations.some((s) => s.mixed.length === 0) ? COSTS.wholeLoads : 0;
}

/**
 * Upper estimate of the share of grain that was weighed: all that was weighed over all that was cut, or over that and what cart
 * and tickets have more.
 */
export function weighedShare(
	{ observations, flows, deduced }: Pick<Problem, 'observations' | 'flows' | 'deduced'>,
	factor: readonly number[],
	u_factor: readonly number[],
): number {
	const weighed = observations.reduce((sum, s) => sum + s.kg, 0);
	const more = deduced.reduce((sum, d) => sum + Math.max(0, d.kg), 0);
	let cut = 0;
	flows.forEach((f, c) => {
		cut += f.total_kg * factor[c]! * (1 - 2 * u_factor[c]!);
	});
	const all = Math.max(cut, weighed + more);
	return all > 0 ? Math.min(1, weighed / all) : 1;
}
