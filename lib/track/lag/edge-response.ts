/**
 * Delay and smear from how the flow builds up after the machine starts to cut and runs out after it ends: the area
 * cut a second, delayed and smeared, against the flow around these edges.
 *
 * Where the header runs from cut ground into standing crop, or out of it, the edge is a place on the ground, and
 * the lag found is the effective one. Where it was lowered or lifted, or the machine stopped, the edge is a moment,
 * wherever the antenna is: the two differ by an antenna ahead or behind.
 */

import { median } from '../../stats/median.ts';
import { smearOn, type TimeGrid } from './time-grid.ts';

export interface EdgeResponse {
	/** Mean delay: pure delay plus smear. */
	lag_s: number;
	smear_s: number;
	/** From leaving passes out. */
	u_s: number;
	/**
	 * What all edges may be off by together, seconds: flow that the model leaves unexplained, as a share of the usual
	 * flow, moves a response by that share of its own time.
	 */
	common_s: number;
	passes: number;
}

const SMEARS_S = [0.3, 0.6, 0.9, 1.2, 1.6, 2, 2.5, 3, 3.6, 4.3, 5.2, 6.5, 8];
/** Smear where the passes' ends do not tell it (first-order time constants of a few seconds: Arslan 2008). */
export const ASSUMED_SMEAR_S = 2;
const FROM_S = -12;
const TO_S = 25;

/** After its start a pass's flow has settled, seconds. */
const SETTLED_S = 25;
/**
 * How far from an edge the flow is taken for what grows there, seconds: over a whole pass the crop changes, and
 * better crop at an edge than in the middle looks like a shorter smear and lag.
 */
const NEAR_S = 45;

interface Crop {
	/** Usual flow over usual area rate near the edge. */
	level: number;
	/** Usual area rate. */
	usual: number;
}

interface Edge extends Crop {
	/** On the ground, not in time. */
	placed: boolean;
	pass: number;
	/** Records from shortly before to well after it. */
	first: number;
	last: number;
}

/** Ramps at edges on the ground, and at all edges. */
export function findEdgeResponses(grid: TimeGrid): { placed: EdgeResponse | null; all: EdgeResponse | null } {
	const edges = findEdges(grid);
	const placed = edges.filter((e) => e.placed);
	return { placed: fitRamp(grid, placed), all: fitRamp(grid, edges) };
}

/** Null with edges in too few passes, or where the flow never rests. */
function fitRamp(grid: TimeGrid, edges: Edge[]): EdgeResponse | null {
	const names = [...new Set(edges.map((e) => e.pass))];
	const passes = names.length;
	if (passes < 6) return null;
	const best = search(grid, edges, -1);
	if (best === null || best.score > 0.08) return null;
	const found: number[] = [];
	const folds = Math.min(8, passes);
	for (let f = 0; f < folds; f++) {
		const one = search(
			grid,
			edges.filter((e) => names.indexOf(e.pass) % folds !== f),
			best.smear,
			best.delay,
		);
		if (one !== null) found.push(one.delay + one.smear);
	}
	const mean = found.reduce((s, v) => s + v, 0) / found.length;
	const u_s = Math.sqrt((found.reduce((s, v) => s + (v - mean) ** 2, 0) * (folds - 1)) / folds);
	const common_s = Math.sqrt(best.score) * Math.max(best.smear, ASSUMED_SMEAR_S);
	return { lag_s: best.delay + best.smear, smear_s: best.smear, u_s, common_s, passes };
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

/** Usual area rate and flow over it in a stretch; null where too little is known. */
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

function search(
	grid: TimeGrid,
	edges: Edge[],
	smear: number,
	near = Number.NaN,
): { delay: number; smear: number; score: number } | null {
	let best: { delay: number; smear: number; score: number } | null = null;
	// The middle one is looked for everywhere, the others around it: their mean delays differ by little.
	const smears = smear >= 0 ? [smear] : [ASSUMED_SMEAR_S, ...SMEARS_S.filter((s) => s !== ASSUMED_SMEAR_S)];
	let mean_s = Number.NaN;
	for (const s of smears) {
		const model = smearOn(grid.rate, grid.step_s, s);
		const sums = new Float64Array(model.length + 1);
		for (let g = 0; g < model.length; g++) sums[g + 1] = sums[g]! + model[g]!;
		const scores: number[] = [];
		const delays: number[] = [];
		const around = Math.round(2 * (mean_s - s)) / 2;
		const from = smear >= 0 ? near - 3 : Number.isNaN(around) ? FROM_S - 2 : Math.max(FROM_S - 2, around - 4);
		const to = smear >= 0 ? near + 3 : Number.isNaN(around) ? TO_S : Math.min(TO_S, around + 4);
		for (let d = from; d <= to; d += 0.5) {
			delays.push(d);
			scores.push(misfit(grid, edges, sums, d));
		}
		let k = -1;
		for (let q = 0; q < scores.length; q++) if (!Number.isNaN(scores[q]!) && (k < 0 || scores[q]! < scores[k]!)) k = q;
		if (k < 0) continue;
		let delay = delays[k]!;
		if (k > 0 && k + 1 < scores.length) {
			const bend = scores[k - 1]! - 2 * scores[k]! + scores[k + 1]!;
			if (bend > 0) delay += (0.25 * (scores[k - 1]! - scores[k + 1]!)) / bend;
		}
		if (Number.isNaN(mean_s)) mean_s = delay + s;
		if (best === null || scores[k]! < best.score) best = { delay, smear: s, score: scores[k]! };
	}
	return best;
}

/** Mean bounded squared difference, over the usual flow, of records around the edges from the model's mean there. */
function misfit(grid: TimeGrid, edges: Edge[], sums: Float64Array, delay_s: number): number {
	const shift = delay_s / grid.step_s;
	const { from, to, own } = grid;
	let sum = 0;
	let count = 0;
	for (const e of edges) {
		const scale = 1 / (e.level * e.usual);
		for (let k = e.first; k < e.last; k++) {
			const a = from[k]! - shift;
			const b = to[k]! - shift;
			if (!(b > a) || Number.isNaN(own[k]!) || a < 0 || b >= sums.length - 1) continue;
			const m = (sumTo(sums, b) - sumTo(sums, a)) / (b - a);
			const d = own[k]! * scale - m / e.usual;
			sum += Math.min(d * d, 0.36);
			count++;
		}
	}
	return count < 30 ? Number.NaN : sum / count;
}

/** Running sum at a place between steps. */
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
