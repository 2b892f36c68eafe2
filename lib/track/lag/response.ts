/**
 * Delay and smear from how the flow follows what the header takes in: the area cut per second, delayed and smeared,
 * is compared with the flow wherever that area changes, at starts and ends of passes, stops and changes of speed.
 *
 * Where the header runs from cut ground into standing crop, or out of it, the change is a place on the ground, and the
 * lag found is the effective one. Everywhere else the change is a point in time, wherever the antenna is. The two differ
 * if the antenna is ahead or behind.
 */

import { median } from '../../stats/median.ts';
import { type Folds, jointUncertainty } from './jackknife.ts';
import { lowest } from './lowest.ts';
import { runningSums, smearOn, sumTo, type TimeGrid } from './time-grid.ts';

export interface Response {
	/** Mean delay: pure delay plus smear. */
	lag_s: number;
	/** NaN where the flow does not show it. */
	smear_s: number;
	/** Standard uncertainties of both by leaving passes out. */
	u_s: number;
	smear_u_s: number;
	/**
	 * Common error of all changes, standard uncertainty, seconds: unexplained flow, as a share of the usual flow, moves a
	 * response by that share of its time constant.
	 */
	common_s: number;
}

/** Smear assumed where the flow does not show it (first-order time constants of a few seconds: Arslan 2008). */
export const ASSUMED_SMEAR_S = 2;
/** Smears tried beside the usual one. */
const SMEARS_S = [0.3, 0.7, 1.2, 3, 4.3, 6, 8];
/** A longer smear is none: the flow goes on as if the area had not changed. */
const LONGEST_S = 8;
const FROM_S = -12;
const TO_S = 25;

/** A change of the area rate by this share of the usual rate shows the response. */
const CHANGE = 0.25;
/** Records from this long before a change to this long after it are compared, seconds. */
const BEFORE_S = 12;
const AFTER_S = 35;
const OWN_S = 4;
/**
 * Flow and area within this time of a record give the crop's level there, seconds. Over a whole pass the crop changes,
 * and a better crop at the edge than in the middle would look like a shorter smear and lag.
 */
const NEAR_S = 30;
/** Most records compared: more add time, not information. */
const MOST = 6000;
/** Fewest changes that give a lag. */
const LEAST_CHANGES = 12;
/** Mean squared difference above which the flow does not follow the area. */
const RESTLESS = 0.08;
/** Bound of squared differences, so that a failing sensor counts no more than any bad record. */
const BOUND = 0.36;
const FOLDS = 10;

export interface Responses {
	/** To changes that are places on the ground. */
	placed: Response | null;
	/** To changes that are points in time. */
	timed: Response | null;
}

/** Responses of one combine's flow to both kinds of changes. */
export function findResponses(grid: TimeGrid): Responses {
	const steps: number[] = [];
	for (let g = 0; g < grid.n; g += 3) if (grid.rate[g]! > 0) steps.push(grid.rate[g]!);
	if (steps.length < 30) return { placed: null, timed: null };
	const usual = median(steps);
	const changes = findChanges(grid, usual);
	const seen = new Seen(grid, usual);
	const of = (kind: number) =>
		changes.counts[kind]! < LEAST_CHANGES ? null : seen.response(recordsNear(grid, changes.near, kind));
	return { placed: of(PLACED), timed: of(TIMED) };
}

const TIMED = 1;
const PLACED = 2;

/** The kind of change that each step of the grid is near, and how many changes there are of each. */
function findChanges({ n, rate, over, step_s }: TimeGrid, usual: number) {
	const near = new Uint8Array(n);
	const counts = [0, 0, 0];
	const before = Math.round(BEFORE_S / step_s);
	const after = Math.round(AFTER_S / step_s);
	const own = Math.round(OWN_S / step_s);
	let last = -Infinity;
	for (let g = 2; g + 1 < n; g++) {
		const from = (rate[g - 2]! + rate[g - 1]!) / 2;
		const to = (rate[g]! + rate[g + 1]!) / 2;
		if (Math.abs(to - from) < CHANGE * usual) continue;
		let placed = false;
		for (let q = g - 2; q <= g + 1; q++) if (over[q] === 1 && rate[q]! < 0.05 * usual) placed = true;
		if (g - last > 5 / step_s) counts[placed ? PLACED : TIMED]!++;
		last = g;
		// What is near two changes belongs to the later from a few seconds before it.
		for (let q = Math.max(0, g - before); q < Math.min(n, g + after); q++) {
			if (q >= g - own || near[q] === 0) near[q] = placed ? PLACED : TIMED;
		}
	}
	return { near, counts };
}

/** Records whose end is near changes of a kind, evenly thinned. */
function recordsNear(grid: TimeGrid, near: Uint8Array, kind: number): Int32Array {
	const list: number[] = [];
	for (let k = 0; k < grid.to.length; k++) {
		const g = Math.round(grid.to[k]!);
		if (g >= 0 && g < grid.n && near[g] === kind && !Number.isNaN(grid.own[k]!)) list.push(k);
	}
	const keep = Math.ceil(list.length / MOST);
	return Int32Array.from(list.filter((_, i) => i % keep === 0));
}

interface Fit {
	lag: number;
	score: number;
	smear_s: number;
}

/** The flow of one combine, and its area rate through each smear tried. */
class Seen {
	readonly #flow: Float64Array;
	readonly #known: Float64Array;
	readonly #fold: Uint8Array;
	readonly #smeared = new Map<number, Float64Array>();

	constructor(
		private readonly grid: TimeGrid,
		private readonly usual: number,
	) {
		const { n, value, pass } = grid;
		this.#flow = runningSums(value.map((v) => Math.max(v, 0) || 0));
		this.#known = runningSums(value.map((v) => (Number.isNaN(v) ? 0 : 1)));
		// A turn belongs to the pass before it.
		this.#fold = new Uint8Array(n);
		let fold = 0;
		for (let g = 0; g < n; g++) {
			if (pass[g]! >= 0) fold = pass[g]! % FOLDS;
			this.#fold[g] = fold;
		}
	}

	/** Null where the flow does not follow the area. */
	response(list: Int32Array): Response | null {
		const records = this.#levels(list);
		const tried = (smear_s: number, from: number, to: number): Fit | null => {
			const curve: { lag_s: number; mismatch: number }[] = [];
			for (let d = from; d <= to + 1e-9; d += 0.5) {
				curve.push({ lag_s: d, mismatch: mean(this.#misfit(records, d, smear_s)) });
			}
			const least = lowest(curve);
			return least === null ? null : { ...least, smear_s };
		};
		const usual = tried(ASSUMED_SMEAR_S, FROM_S, TO_S);
		if (usual === null) return null;
		let best = usual;
		const attempt = (smear_s: number) => {
			// Mean delays differ little.
			const around = Math.round(2 * best.lag) / 2;
			const at = tried(smear_s, around - 2, around + 2);
			if (at !== null && at.score < best.score) best = at;
		};
		for (const smear_s of SMEARS_S) attempt(smear_s);
		for (let share = 0.24; share > 0.05; share /= 2) {
			const { smear_s } = best;
			attempt(smear_s * (1 + share));
			attempt(smear_s / (1 + share));
		}
		const told = best.smear_s < LONGEST_S;
		const at = told ? best : usual;
		if (at.score > RESTLESS) return null;
		const u = jointUncertainty(
			([lag_s, smear_s]) => this.#misfit(records, lag_s!, Math.max(0.1, smear_s ?? at.smear_s)),
			told ? [at.lag, at.smear_s] : [at.lag],
			[0.5, Math.max(0.3, 0.4 * at.smear_s)],
			() => true,
		);
		if (u === null) return null;
		return {
			lag_s: at.lag,
			smear_s: told ? at.smear_s : Number.NaN,
			u_s: u[0]!,
			smear_u_s: u[1] ?? Number.NaN,
			common_s: Math.sqrt(at.score) * Math.max(at.smear_s, ASSUMED_SMEAR_S),
		};
	}

	/** Bounded squared differences of records from the area, relative to the usual flow, by fold of passes. */
	#misfit(records: Levels, lag_s: number, smear_s: number): Folds {
		const { step_s, n, rate } = this.grid;
		let sums = this.#smeared.get(smear_s);
		if (sums === undefined) {
			this.#smeared.set(smear_s, (sums = runningSums(smearOn(rate, step_s, smear_s))));
		}
		const shift = (lag_s - smear_s) / step_s;
		const sum = new Float64Array(FOLDS);
		const count = new Float64Array(FOLDS);
		for (let k = 0; k < records.n; k++) {
			const a = records.from[k]! - shift;
			const b = records.to[k]! - shift;
			const low = records.low[k]!;
			const high = records.high[k]!;
			if (a < 0 || b >= n - 1 || low - shift < 0 || high - shift >= n) continue;
			const area = records.whole[k]
				? (sumTo(sums, high - shift) - sumTo(sums, low - shift)) / (high - low)
				: this.#areaSeen(sums, low, high, shift);
			if (!(area > 0.1 * this.usual)) continue;
			const level = records.flow[k]! / area;
			const m = (sumTo(sums, b) - sumTo(sums, a)) / (b - a);
			const d = (records.own[k]! / level - m) / this.usual;
			const f = records.fold[k]!;
			sum[f]! += Math.min(d * d, BOUND);
			count[f]!++;
		}
		return { sum, count };
	}

	/** Mean area rate, `shift` steps before, of those steps from `low` to `high` whose flow is known. */
	#areaSeen(sums: Float64Array, low: number, high: number, shift: number): number {
		let area = 0;
		for (let g = low; g < high; g++) {
			if (this.#known[g + 1]! > this.#known[g]!) area += sumTo(sums, g + 1 - shift) - sumTo(sums, g - shift);
		}
		return area / (this.#known[high]! - this.#known[low]!);
	}

	/** Records with what no delay or smear changes; those without a level around them are left out. */
	#levels(list: Int32Array): Levels {
		const { from, to, own, step_s, n: steps } = this.grid;
		const near = Math.round(NEAR_S / step_s);
		const column = () => new Float64Array(list.length);
		const levels: Levels = {
			n: 0,
			from: column(),
			to: column(),
			own: column(),
			low: column(),
			high: column(),
			flow: column(),
			whole: new Uint8Array(list.length),
			fold: new Uint8Array(list.length),
		};
		for (const k of list) {
			const middle = Math.round((from[k]! + to[k]!) / 2);
			const low = Math.max(0, middle - near);
			const high = Math.min(steps, middle + near);
			const known = this.#known[high]! - this.#known[low]!;
			const flow = (this.#flow[high]! - this.#flow[low]!) / known;
			if (!(to[k]! > from[k]! && known > near / 2 && flow > 0)) continue;
			const at = levels.n++;
			levels.from[at] = from[k]!;
			levels.to[at] = to[k]!;
			levels.own[at] = own[k]!;
			levels.low[at] = low;
			levels.high[at] = high;
			levels.flow[at] = flow;
			levels.whole[at] = Number(known === high - low);
			levels.fold[at] = this.#fold[Math.min(steps - 1, middle)]!;
		}
		return levels;
	}
}

/** Records compared: columns of length `n`. */
interface Levels {
	n: number;
	/** Interval in steps of the grid, and the sensor's value. */
	from: Float64Array;
	to: Float64Array;
	own: Float64Array;
	/** Steps around it that give the crop's level, and the mean flow over them. */
	low: Float64Array;
	high: Float64Array;
	flow: Float64Array;
	/** 1 where the flow of all these steps is known. */
	whole: Uint8Array;
	fold: Uint8Array;
}

function mean({ sum, count }: Folds): number {
	const n = count.reduce((s, v) => s + v, 0);
	return n < 30 ? Number.NaN : sum.reduce((s, v) => s + v, 0) / n;
}
