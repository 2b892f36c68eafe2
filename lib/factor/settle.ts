import { inverse } from './series.ts';
import { errorCovariance } from './solve.ts';
import { BROAD_KG, restMatrix, type System, type Tails } from './system.ts';

/** What came of looking for errors larger than expected. */
export interface Settled {
	tails: Tails;
	/** Weights not believed. */
	aside: { weighing: number; reason: string }[];
}

/** Rests and weights err as a Student t of so many degrees of freedom: mostly little, now and then much. */
const NU = 3;
/**
 * While looking, the sensor may err slowly by this (relative): a step or a drift is then no fault of the weights, which
 * show as single ones out of line with those before and after.
 */
const WIDE_SIGMA = 0.02;
/** A weight is set aside when it is off by more than this share, and by so many of its expected errors. */
const ASIDE_REL = 0.04;
const ASIDE_TIMES = 6;
const TURNS = 12;

/**
 * Finds rests and weights that err more than expected, whatever the form of the factor, and gives them the variance that
 * they show (expectation–maximisation for Student t errors: a scale mixture of normals, so every turn is one generalised
 * least-squares solution). A fill that is low and the next as high by the same mass come out as a rest that nobody noted; a
 * weight out of line alone comes out as a bad weight, and is set aside when it is negligible beside the others.
 *
 * Source: Lange, Little and Taylor, JASA 84:881, 1989.
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
	const baseState = system.stateVariance;
	const baseOwn = system.own;
	const touched = new Set<number>();
	for (const signs of system.signs) for (const s of signs.keys()) touched.add(s);
	const errors = new Float64Array(n);
	for (let turn = 0; turn < TURNS && n > 2; turn++) {
		const now: System = { ...system, rest: restMatrix(system.signs, state), own };
		const V = errorCovariance(now, slow, { sigma: WIDE_SIGMA, rests: 1 }, [], 0);
		const { Q, q } = residual(V, n, system, anchors);
		for (const s of touched) {
			if (baseState[s]! > BROAD_KG ** 2 || !(baseState[s]! > 0)) continue;
			let mean = 0;
			let quad = 0;
			for (let i = 0; i < n; i++) {
				const a = system.signs[i]!.get(s) ?? 0;
				if (a === 0) continue;
				mean += a * q[i]!;
				for (let j = 0; j < n; j++) quad += a * Q[i * n + j]! * (system.signs[j]!.get(s) ?? 0);
			}
			const v = state[s]!;
			const square = (v * mean) ** 2 + v - v * v * quad;
			state[s] = (baseState[s]! * NU + square) / (NU + 1);
		}
		for (let i = 0; i < n; i++) {
			const v = own[i]!;
			errors[i] = v * q[i]!;
			const square = errors[i]! ** 2 + v - v * v * Q[i * n + i]!;
			own[i] = (baseOwn[i]! * NU + square) / (NU + 1);
		}
	}
	const aside: Settled['aside'] = [];
	const tails: Tails = { state, own: new Map() };
	for (let i = 0; i < n; i++) {
		const weighing = system.index[i]!;
		tails.own.set(weighing, own[i]!);
		const kg = system.weighings[i]!.reference_kg;
		const expected = Math.sqrt(baseOwn[i]! + Math.max(0, system.reading[i * n + i]!));
		if (!(Math.abs(errors[i]!) > ASIDE_REL * kg) || !(Math.abs(errors[i]!) > ASIDE_TIMES * expected)) continue;
		const percent = (100 * Math.abs(errors[i]!)) / (kg - errors[i]!);
		const way = errors[i]! > 0 ? 'more' : 'less';
		aside.push({
			weighing,
			reason: `weighs about ${percent.toFixed(0)} % ${way} than the monitor and the loads before and after it say`,
		});
	}
	return { tails, aside };
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
