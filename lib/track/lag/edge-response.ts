/**
 * Delay and smear from how the flow builds up after the machine starts to cut and runs out after it ends: the area
 * cut per second, delayed and smeared, compared with the flow around these edges.
 *
 * Where the header runs from cut ground into standing crop, or out of it, the edge is a place on the ground, and the
 * lag found is the effective one. Where the header was lowered or lifted, or the machine stopped, the edge is a point
 * in time, wherever the antenna is. The two differ if the antenna is ahead or behind.
 */

import { median } from '../../stats/median.ts';
import { smearOn, type TimeGrid } from './time-grid.ts';

export interface EdgeResponse {
	/** Mean delay: pure delay plus smear. */
	lag_s: number;
	smear_s: number;
	/** Standard uncertainty by leaving passes out. */
	u_s: number;
	/**
	 * Common error of all edges, standard uncertainty, seconds: unexplained flow, as a share of the usual flow, moves a
	 * response by that share of its time constant.
	 */
	common_s: number;
	passes: number;
}

/** Smear assumed where the ends of passes do not show it (first-order time constants of a few seconds: Arslan 2008). */
export const ASSUMED_SMEAR_S = 2;
/** Smears tried, the usual one first. */
const SMEARS_S = [ASSUMED_SMEAR_S, 0.3, 0.6, 0.9, 1.2, 1.6, 2.5, 3, 3.6, 4.3, 5.2, 6.5, 8];
const FROM_S = -12;
const TO_S = 25;

/** Time from a pass's start until its flow is steady, seconds. */
const SETTLED_S = 25;
/**
 * Flow within this time of an edge gives the crop's level there, seconds. Over a whole pass the crop changes, and a
 * better crop at the edge than in the middle would look like a shorter smear and lag.
 */
const NEAR_S = 45;

interface Crop {
	/** Usual flow over usual area rate near the edge. */
	level: number;
	/** Usual area rate. */
	usual: number;
}

interface Edge extends Crop {
	/** True for an edge on the ground, false for one in time. */
	placed: boolean;
	pass: number;
	/** Records from shortly before to well after it. */
	first: number;
	last: number;
}

/** Responses at edges on the ground, and at all edges. */
export function findEdgeResponses(grid: TimeGrid): { placed: EdgeResponse | null; all: EdgeResponse | null } {
	const edges = findEdges(grid);
	const searches = [edges.filter((e) => e.placed), edges].map((of) => new Search(grid, of));
	// Smearing the grid is the expensive part, so both searches share it.
	for (const smear_s of SMEARS_S) {
		if (searches.every((s) => s.passes < LEAST_PASSES)) break;
		const sums = runningSums(smearOn(grid.rate, grid.step_s, smear_s));
		for (const search of searches) search.tryDelays(sums, smear_s);
	}
	const [placed, all] = searches.map((s) => s.response());
	return { placed: placed!, all: all! };
}

/** Fewest passes whose responses give a lag. */
const LEAST_PASSES = 6;
/** Mean squared difference above which the flow is never steady. */
const RESTLESS = 0.08;
const FOLDS = 8;

/** Best-fitting delay and smear for a set of edges, with a jackknife over eighths of the passes. */
class Search {
	readonly passes: number;
	readonly #fold: number[];
	#folds: number;
	#mean_s = Number.NaN;
	#best: { smear_s: number; score: number; delay_s: number; curve: Misfit[] } | null = null;

	constructor(
		private readonly grid: TimeGrid,
		private readonly edges: Edge[],
	) {
		const names = [...new Set(edges.map((e) => e.pass))];
		this.passes = names.length;
		this.#folds = Math.min(FOLDS, this.passes);
		const number = new Map(names.map((pass, k) => [pass, k]));
		this.#fold = edges.map((e) => number.get(e.pass)! % this.#folds);
	}

	/** Searches the whole range for the first smear, and near its result for the others: mean delays differ little. */
	tryDelays(sums: Float64Array, smear_s: number): void {
		if (this.passes < LEAST_PASSES) return;
		const around = Math.round(2 * (this.#mean_s - smear_s)) / 2;
		const from = Number.isNaN(around) ? FROM_S - 2 : Math.max(FROM_S - 2, around - 4);
		const to = Number.isNaN(around) ? TO_S : Math.min(TO_S, around + 4);
		const curve: Misfit[] = [];
		for (let d = from; d <= to; d += 0.5) curve.push(misfit(this.grid, this.edges, this.#fold, sums, d));
		const least = leastOf(curve, -1);
		if (least === null) return;
		if (Number.isNaN(this.#mean_s)) this.#mean_s = least.delay_s + smear_s;
		if (this.#best === null || least.score < this.#best.score) this.#best = { smear_s, curve, ...least };
	}

	/** Null with edges in too few passes, or where the flow is never steady. */
	response(): EdgeResponse | null {
		const best = this.#best;
		if (best === null || best.score > RESTLESS) return null;
		const n = this.#folds;
		const found: number[] = [];
		for (let f = 0; f < n; f++) {
			const one = leastOf(best.curve, f);
			if (one !== null) found.push(one.delay_s);
		}
		const mean = found.reduce((s, v) => s + v, 0) / found.length;
		const u_s = Math.sqrt((found.reduce((s, v) => s + (v - mean) ** 2, 0) * (n - 1)) / n);
		const common_s = Math.sqrt(best.score) * Math.max(best.smear_s, ASSUMED_SMEAR_S);
		return { lag_s: best.delay_s + best.smear_s, smear_s: best.smear_s, u_s, common_s, passes: this.passes };
	}
}

/** Starts and ends of passes that are long and have no cutting for a while before or after. */
function findEdges(grid: TimeGrid): Edge[] {
	const { n, step_s, rate } = grid;
	const edges: Edge[] = [];
	const quiet = Math.round(12 / step_s);
	const long = Math.round(40 / step_s);
	const settled = Math.round(SETTLED_S / step_s);
	const near = Math.round(NEAR_S / step_s);
	let g = 0;
	while (g < n) {
		if (!(rate[g]! > 0)) {
			g++;
			continue;
		}
		let last = g;
		let pause = 0;
		for (let q = g; q < n && pause <= Math.round(3 / step_s); q++) {
			if (rate[q]! > 0) {
				last = q;
				pause = 0;
			} else pause++;
		}
		if (last - g >= long) {
			const pass = grid.pass[Math.min(last, g + 5)]!;
			const around = (at: number, until: number, placed: boolean, crop: Crop | null) => {
				if (crop === null) return;
				const from = recordAfter(grid.to, at - 12 / step_s);
				edges.push({ placed, pass, first: from, last: recordAfter(grid.to, until), ...crop });
			};
			if (restful(rate, g - quiet, g)) {
				const crop = usualCrop(grid, g + settled, Math.min(last, g + settled + near));
				around(g, Math.min(last, g + 35 / step_s), grid.over[g - 1] === 1, crop);
			}
			if (restful(rate, last + 1, last + 1 + quiet)) {
				const crop = usualCrop(grid, Math.max(g + settled, last - near), last);
				around(last, last + 35 / step_s, grid.over[last + 1] === 1, crop);
			}
		}
		g = last + Math.round(3 / step_s) + 1;
	}
	const keep = Math.ceil(edges.length / 300);
	return edges.filter((_, k) => k % keep === 0);
}

/** Usual area rate, and flow relative to it, in a stretch; null where too little is known. */
function usualCrop(grid: TimeGrid, from: number, to: number): Crop | null {
	const rates: number[] = [];
	const flows: number[] = [];
	for (let q = from; q <= to; q++) {
		if (grid.rate[q]! > 0) rates.push(grid.rate[q]!);
		if (grid.value[q]! > 0) flows.push(grid.value[q]!);
	}
	if (rates.length <= 10 || flows.length <= 10) return null;
	const usual = median(rates);
	const level = median(flows) / usual;
	return level > 0 ? { level, usual } : null;
}

function restful(rate: Float64Array, from: number, to: number): boolean {
	if (from < 0 || to > rate.length) return false;
	for (let q = from; q < to; q++) if (rate[q]! > 0) return false;
	return true;
}

/** Squared differences at one delay, by fold of passes. */
interface Misfit {
	delay_s: number;
	sum: Float64Array;
	count: Float64Array;
}

/** Interpolated minimum of a curve without one of the folds; null where nothing is known. */
function leastOf(curve: Misfit[], without: number): { delay_s: number; score: number } | null {
	const scores = curve.map(({ sum, count }) => {
		let all = 0;
		let n = 0;
		for (let f = 0; f < sum.length; f++) {
			if (f === without) continue;
			all += sum[f]!;
			n += count[f]!;
		}
		return n < 30 ? Number.NaN : all / n;
	});
	let k = -1;
	for (let q = 0; q < scores.length; q++) if (!Number.isNaN(scores[q]!) && (k < 0 || scores[q]! < scores[k]!)) k = q;
	if (k < 0) return null;
	let delay_s = curve[k]!.delay_s;
	if (k > 0 && k + 1 < scores.length) {
		const bend = scores[k - 1]! - 2 * scores[k]! + scores[k + 1]!;
		if (bend > 0) delay_s += (0.25 * (scores[k - 1]! - scores[k + 1]!)) / bend;
	}
	return { delay_s, score: scores[k]! };
}

/** Bounded squared differences of records around the edges from the model, relative to the usual flow. */
function misfit(grid: TimeGrid, edges: Edge[], fold: number[], sums: Float64Array, delay_s: number): Misfit {
	const shift = delay_s / grid.step_s;
	const { from, to, own } = grid;
	const sum = new Float64Array(FOLDS);
	const count = new Float64Array(FOLDS);
	for (const [i, e] of edges.entries()) {
		const f = fold[i]!;
		const scale = 1 / (e.level * e.usual);
		for (let k = e.first; k < e.last; k++) {
			const a = from[k]! - shift;
			const b = to[k]! - shift;
			if (!(b > a) || Number.isNaN(own[k]!) || a < 0 || b >= sums.length - 1) continue;
			const m = (sumTo(sums, b) - sumTo(sums, a)) / (b - a);
			const d = own[k]! * scale - m / e.usual;
			sum[f]! += Math.min(d * d, 0.36);
			count[f]!++;
		}
	}
	return { delay_s, sum, count };
}

function runningSums(values: Float64Array): Float64Array {
	const sums = new Float64Array(values.length + 1);
	for (let g = 0; g < values.length; g++) sums[g + 1] = sums[g]! + values[g]!;
	return sums;
}

/** Running sum at a position between steps. */
function sumTo(sums: Float64Array, at: number): number {
	const low = Math.floor(at);
	return sums[low]! + (at - low) * (sums[low + 1]! - sums[low]!);
}

/** First record that ends after a place on the grid. */
function recordAfter(to: Float64Array, at: number): number {
	let low = 0;
	let high = to.length;
	while (low < high) {
		const mid = (low + high) >> 1;
		if (to[mid]! > at) high = mid;
		else low = mid + 1;
	}
	return low;
}
