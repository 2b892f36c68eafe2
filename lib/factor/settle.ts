import { inverse } from './series.ts';
import { errorCovariance } from './solve.ts';
import { BROAD_KG, restMatrix, type System, type Tails } from './system.ts';

/** What came of looking for errors larger than expected. */
export interface Settled {
	tails: Tails;
	/** Weights not believed. */
	aside: { weighing: number; reason: string }[];
}

/**
 * While looking, the sensor may err slowly by this (relative): a step or a drift is then no fault of the weights, which
 * show as single ones out of line with those before and after.
 */
const WIDE_SIGMA = 0.02;
/**
 * What one more shock must take off the misfit (χ² of one degree of freedom). Chance reaches 20 once in 100,000; grain that
 * stays behind is common, a wrong weight is not, and must be the clearer.
 */
const CLEAR_REST = 20;
const CLEAR_WEIGHT = 32;
/** A weight is set aside when it is off by more than this share. */
const ASIDE_REL = 0.04;
/** A rest that nobody noted is looked for from this size, kg. */
const REST_KG = 150;

/**
 * Finds single bad weights, and rests that nobody noted, whatever the form of the factor: one after another, the shock that
 * takes most off the misfit of all weights together. A fill that is low and the next as high by the same mass come out as
 * a rest (which cannot be negative); a weight out of line alone comes out as a bad one, and is set aside.
 *
 * Source: the search for additive outliers of Chen and Liu, JASA 88:284, 1993, with two kinds of shock.
 *
 * @param system with constant shapes
 * @param slow its slow covariance for a relative standard deviation of 1
 * @param anchors rows, values and variances that keep it solvable
 */
export function settle(
	system: System,
	slow: Float64Array,
	anchors: readonly { row: number[]; y: number; variance: number }[],
): Settled {
	const n = system.weighings.length;
	const state = system.stateVariance.slice();
	const own = system.own.slice();
	const touched = new Set<number>();
	for (const signs of system.signs) for (const s of signs.keys()) touched.add(s);
	const aside: Settled['aside'] = [];
	const done = new Set<string>();
	for (let turn = 0; turn < n / 2 && n > 3; turn++) {
		const now: System = { ...system, rest: restMatrix(system.signs, state), own };
		const V = errorCovariance(now, slow, { sigma: WIDE_SIGMA, rests: 1 }, [], 0);
		const { Q, q } = residual(V, n, system, anchors);
		let most = 0;
		let best: { key: string; kg: number; weighing: number; state: number } | null = null;
		for (const s of touched) {
			if (state[s]! > BROAD_KG ** 2 || done.has(`s${s}`)) continue;
			let product = 0;
			let size = 0;
			for (let i = 0; i < n; i++) {
				const a = system.signs[i]!.get(s) ?? 0;
				if (a === 0) continue;
				product += a * q[i]!;
				for (let j = 0; j < n; j++) size += a * Q[i * n + j]! * (system.signs[j]!.get(s) ?? 0);
			}
			if (!(size > 0) || !(product / size > REST_KG) || product ** 2 / size - CLEAR_REST <= most) continue;
			most = product ** 2 / size - CLEAR_REST;
			best = { key: `s${s}`, kg: product / size, weighing: -1, state: s };
		}
		for (let i = 0; i < n; i++) {
			const size = Q[i * n + i]!;
			if (!(size > 0) || done.has(`w${i}`)) continue;
			const kg = q[i]! / size;
			if (!(Math.abs(kg) > ASIDE_REL * system.weighings[i]!.reference_kg) || q[i]! ** 2 / size - CLEAR_WEIGHT <= most)
				continue;
			most = q[i]! ** 2 / size - CLEAR_WEIGHT;
			best = { key: `w${i}`, kg, weighing: i, state: -1 };
		}
		if (!best) break;
		done.add(best.key);
		if (best.state >= 0) state[best.state] = state[best.state]! + (1.5 * best.kg) ** 2;
		else {
			const i = best.weighing;
			const kg = system.weighings[i]!.reference_kg;
			// As good as not weighed.
			own[i] = own[i]! + (100 * best.kg) ** 2;
			const percent = (100 * Math.abs(best.kg)) / (kg - best.kg);
			aside.push({
				weighing: system.index[i]!,
				reason: `weighs about ${percent.toFixed(0)} % ${best.kg > 0 ? 'more' : 'less'} than the monitor and the loads before and after it say`,
			});
		}
	}
	return { tails: { state, own: new Map(system.index.map((w, i) => [w, own[i]!])) }, aside };
}

/** Q = V⁻¹ − V⁻¹X(XᵀV⁻¹X + P)⁻¹XᵀV⁻¹ and q = V⁻¹(y − X β), anchors as prior precision P. */
function residual(
	V: Float64Array,
	n: number,
	system: System,
	anchors: readonly { row: number[]; y: number; variance: number }[],
): { Q: Float64Array; q: Float64Array } {
	const p = system.p;
	const W = inverse(V, n);
	const WX = new Float64Array(n * p);
	for (let i = 0; i < n; i++) {
		for (let k = 0; k < n; k++) {
			const w = W[i * n + k]!;
			if (w !== 0) for (let j = 0; j < p; j++) WX[i * p + j]! += w * system.A[k]![j]!;
		}
	}
	const N = new Float64Array(p * p);
	const b = new Float64Array(p);
	for (let i = 0; i < p; i++) {
		for (let k = 0; k < n; k++) {
			b[i]! += WX[k * p + i]! * system.y[k]!;
			for (let j = 0; j < p; j++) N[i * p + j]! += system.A[k]![i]! * WX[k * p + j]!;
		}
	}
	for (const a of anchors) {
		for (let i = 0; i < p; i++) {
			b[i]! += (a.row[i]! * a.y) / a.variance;
			for (let j = 0; j < p; j++) N[i * p + j]! += (a.row[i]! * a.row[j]!) / a.variance;
		}
	}
	const C = inverse(N, p);
	const beta = Float64Array.from({ length: p }, (_, i) => b.reduce((s, v, j) => s + C[i * p + j]! * v, 0));
	const Q = W.slice();
	for (let i = 0; i < n; i++) {
		for (let k = 0; k < n; k++) {
			let sum = 0;
			for (let j = 0; j < p; j++) for (let l = 0; l < p; l++) sum += WX[i * p + j]! * C[j * p + l]! * WX[k * p + l]!;
			Q[i * n + k]! -= sum;
		}
	}
	const r = Float64Array.from(system.A, (row, i) => system.y[i]! - row.reduce((s, v, j) => s + v * beta[j]!, 0));
	const q = new Float64Array(n);
	for (let i = 0; i < n; i++) for (let k = 0; k < n; k++) q[i]! += W[i * n + k]! * r[k]!;
	return { Q, q };
}
