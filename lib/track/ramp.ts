/**
 * Delay and smear from how the flow builds up after the header enters standing crop and runs out after it leaves:
 * the area cut a second, delayed and smeared, against the flow around the passes' ends.
 */
import { type Even, smearOn } from './even.ts';
import { median } from './middle.ts';

export interface Ramp {
	/** Mean delay: pure delay plus smear. */
	lag_s: number;
	smear_s: number;
	/** From leaving passes out. */
	u_s: number;
	passes: number;
}

const SMEARS_S = [0.3, 0.6, 0.9, 1.2, 1.6, 2, 2.5, 3, 3.6, 4.3, 5.2, 6.5, 8];
const FROM_S = -12;
const TO_S = 25;

interface Edge {
	pass: number;
	from: number;
	to: number;
	/** Usual flow over usual area rate in that pass. */
	level: number;
	/** Usual area rate. */
	usual: number;
}

/** Null with fewer than six passes long enough, or where the flow never rests. */
export function fitRamp(even: Even): Ramp | null {
	const edges = findEdges(even);
	const passes = new Set(edges.map((e) => e.pass)).size;
	if (passes < 6) return null;
	const best = search(even, edges, -1);
	if (best === null || best.score > 0.08) return null;
	const found: number[] = [];
	const folds = Math.min(8, passes);
	for (let f = 0; f < folds; f++) {
		const one = search(
			even,
			edges.filter((e) => e.pass % folds !== f),
			best.smear,
			best.delay,
		);
		if (one !== null) found.push(one.delay + one.smear);
	}
	const mean = found.reduce((s, v) => s + v, 0) / found.length;
	const u_s = Math.sqrt((found.reduce((s, v) => s + (v - mean) ** 2, 0) * (folds - 1)) / folds);
	return { lag_s: best.delay + best.smear, smear_s: best.smear, u_s, passes };
}

/** Starts and ends of passes that are long and have no cutting for a while before or after. */
function findEdges(even: Even): Edge[] {
	const { n, step_s, rate, value } = even;
	const edges: Edge[] = [];
	const quiet = Math.round(12 / step_s);
	const long = Math.round(40 / step_s);
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
			const rates: number[] = [];
			const flows: number[] = [];
			for (let q = g + Math.round(25 / step_s); q <= last; q++) {
				if (rate[q]! > 0) rates.push(rate[q]!);
				if (value[q]! > 0) flows.push(value[q]!);
			}
			const before = restful(rate, g - quiet, g);
			const after = restful(rate, last + 1, last + 1 + quiet);
			const usual = median(rates);
			const level = median(flows) / usual;
			if (rates.length > 10 && flows.length > 10 && level > 0) {
				const pass = even.pass[Math.min(last, g + 5)]!;
				if (before)
					edges.push({
						pass,
						from: g - Math.round(12 / step_s),
						to: Math.min(last, g + Math.round(35 / step_s)),
						level,
						usual,
					});
				if (after)
					edges.push({
						pass,
						from: last - Math.round(12 / step_s),
						to: Math.min(n - 1, last + Math.round(35 / step_s)),
						level,
						usual,
					});
			}
		}
		g = last + Math.round(3 / step_s) + 1;
	}
	const keep = Math.ceil(edges.length / 300);
	return edges.filter((_, k) => k % keep === 0);
}

function restful(rate: Float64Array, from: number, to: number): boolean {
	if (from < 0 || to > rate.length) return false;
	for (let q = from; q < to; q++) if (rate[q]! > 0) return false;
	return true;
}

function search(
	even: Even,
	edges: Edge[],
	smear: number,
	near = Number.NaN,
): { delay: number; smear: number; score: number } | null {
	let best: { delay: number; smear: number; score: number } | null = null;
	const smears = smear >= 0 ? [smear] : SMEARS_S;
	for (const s of smears) {
		const model = smearOn(even.rate, even.step_s, s);
		const scores: number[] = [];
		const delays: number[] = [];
		const from = Number.isNaN(near) ? FROM_S - 2 : near - 3;
		const to = Number.isNaN(near) ? TO_S : near + 3;
		for (let d = from; d <= to; d += 0.5) {
			delays.push(d);
			scores.push(misfit(even, edges, model, d));
		}
		let k = -1;
		for (let q = 0; q < scores.length; q++) if (!Number.isNaN(scores[q]!) && (k < 0 || scores[q]! < scores[k]!)) k = q;
		if (k < 0) continue;
		let delay = delays[k]!;
		if (k > 0 && k + 1 < scores.length) {
			const bend = scores[k - 1]! - 2 * scores[k]! + scores[k + 1]!;
			if (bend > 0) delay += (0.25 * (scores[k - 1]! - scores[k + 1]!)) / bend;
		}
		if (best === null || scores[k]! < best.score) best = { delay, smear: s, score: scores[k]! };
	}
	return best;
}

function misfit(even: Even, edges: Edge[], model: Float64Array, delay_s: number): number {
	const shift = delay_s / even.step_s;
	const whole = Math.floor(shift);
	const f = shift - whole;
	let sum = 0;
	let count = 0;
	for (const e of edges) {
		for (let g = Math.max(0, e.from); g <= e.to; g++) {
			const v = even.value[g]!;
			const q = g - whole;
			if (Number.isNaN(v) || q < 1 || q >= model.length) continue;
			const m = model[q]! * (1 - f) + model[q - 1]! * f;
			const d = v / (e.level * e.usual) - m / e.usual;
			sum += Math.min(d * d, 0.36);
			count++;
		}
	}
	return count < 50 ? Number.NaN : sum / count;
}
