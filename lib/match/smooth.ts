import { backward, cholesky, forward } from '../stats/index.ts';
import { COSTS, USUAL } from './costs.ts';
import type { Scene } from './scene.ts';
import type { Emptying } from './unloadings.ts';

/** Factors and rests by all weights of one reading together. */
export interface Smoothed {
	factor: number[];
	u_factor: number[];
	start_kg: { kg: number; u_kg: number }[];
	/** Per emptying: what stays in the tank. */
	rest_kg: Float64Array;
	u_rest_kg: Float64Array;
	/** Per emptying that has a weight of its own: (weight − expected) / expected, NaN elsewhere. */
	miss: Float64Array;
}

/** More unknowns than this are not inverted for each rest's own uncertainty. */
const MANY = 700;

/**
 * Least squares over one reading: unknown are the factors, the grain at the start and what stays at each emptying;
 * every weight is one equation, weight = factor × fill + rest before − rest after.
 *
 * @param starts combines that the reading takes to come with grain in the tank
 */
export function smoothRests(scene: Scene, list: readonly Emptying[], starts: readonly boolean[]): Smoothed {
	const C = scene.flows.length;
	const p = 2 * C + list.length;
	const N = new Float64Array(p * p);
	const b = new Float64Array(p);
	const add = (where: readonly number[], value: readonly number[], y: number, variance: number): void => {
		for (let i = 0; i < where.length; i++) {
			const wi = (value[i] as number) / variance;
			b[where[i] as number]! += wi * y;
			for (let j = 0; j < where.length; j++)
				N[(where[i] as number) * p + (where[j] as number)]! += wi * (value[j] as number);
		}
	};
	for (let c = 0; c < C; c++) {
		add([c], [1], 1, USUAL.factor ** 2);
		const some = COSTS.startShare * (scene.tank_kg[c] as number);
		if (starts[c]) add([C + c], [1], some, some * some);
		else add([C + c], [1], 0, USUAL.clinging_kg ** 2);
	}
	for (const r of scene.habits.ratios) add([r.a, r.b], [-r.ratio, 1], 0, r.u * r.u);
	const before = (i: number): number => {
		const e = list[i] as Emptying;
		return i > 0 && (list[i - 1] as Emptying).combine === e.combine ? 2 * C + i - 1 : C + e.combine;
	};
	list.forEach((e, i) => {
		add([2 * C + i], [1], e.prior_kg, e.u_prior_kg ** 2 + e.u_flow_kg ** 2);
	});
	const believed = weights(scene, list).filter((w) => w.believed);
	for (const w of believed) {
		const where: number[] = [];
		const value: number[] = [];
		let variance = w.u2;
		for (const i of w.emptyings) {
			const e = list[i] as Emptying;
			where.push(e.combine, before(i), 2 * C + i);
			value.push(e.fill_kg, 1, -1);
			variance += (scene.habits.fill * e.fill_kg) ** 2;
		}
		add(where, value, w.kg, variance);
	}
	const L = cholesky(N, p);
	const x = backward(L, p, forward(L, p, b));
	const u = new Float64Array(p);
	const only = p > MANY ? 2 * C : p;
	for (let j = 0; j < only; j++) {
		const unit = new Float64Array(p);
		unit[j] = 1;
		const z = forward(L, p, unit);
		let sum = 0;
		for (let i = 0; i < p; i++) sum += (z[i] as number) ** 2;
		u[j] = Math.sqrt(sum);
	}
	const level = (j: number): number => Math.max(0, x[j] as number);
	const miss = new Float64Array(list.length).fill(Number.NaN);
	for (const w of believed) {
		let expected = 0;
		for (const i of w.emptyings) {
			const e = list[i] as Emptying;
			expected += (x[e.combine] as number) * e.fill_kg + level(before(i)) - level(2 * C + i);
		}
		for (const i of w.emptyings) miss[i] = (w.kg - expected) / Math.max(expected, 0.2 * w.kg);
	}
	return {
		factor: Array.from(x.subarray(0, C)),
		u_factor: Array.from(u.subarray(0, C)),
		start_kg: Array.from({ length: C }, (_, c) => ({ kg: level(C + c), u_kg: u[C + c] as number })),
		rest_kg: Float64Array.from(list, (_, i) => Math.min(level(2 * C + i), scene.tank_kg[list[i]!.combine] as number)),
		u_rest_kg: Float64Array.from(list, (e, i) => (p > MANY ? e.u_prior_kg : (u[2 * C + i] as number))),
		miss,
	};
}

/** Weights with the emptyings that they cover. */
export function weights(
	scene: Scene,
	list: readonly Emptying[],
): { step: number; told: number; kg: number; u2: number; emptyings: number[]; believed: boolean }[] {
	const byStep = new Map<number, number[]>();
	const all: { step: number; told: number; kg: number; u2: number; emptyings: number[]; believed: boolean }[] = [];
	list.forEach((e, i) => {
		if (e.choice) {
			const s = byStep.get(e.choice.step);
			if (s) s.push(i);
			else byStep.set(e.choice.step, [i]);
		} else if (e.told >= 0) {
			const told = scene.told[e.told]!;
			all.push({ step: -1, told: e.told, kg: told.kg, u2: told.variance, emptyings: [i], believed: true });
		}
	});
	for (const [s, emptyings] of byStep) {
		const step = scene.steps[s]!;
		const believed = list[emptyings[0] as number]!.choice!.kind !== 'nonsense';
		all.push({ step: s, told: -1, kg: step.kg, u2: step.u2, emptyings, believed });
	}
	return all;
}
