import { MONITOR, TANK } from '../../model/index.ts';
import { Skyline } from '../../stats/index.ts';
import { COSTS } from '../problem/costs.ts';
import type { Problem } from '../problem/problem.ts';
import type { Emptying } from './unloadings.ts';

/** Factors and rests by all weights of one hypothesis together. */
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

/**
 * Least squares over one hypothesis: unknown are the factors, the grain at the start and what stays at each emptying;
 * every weight is one equation, weight = factor × fill + rest before − rest after. A rest hangs together with its
 * neighbours only, so that in order of time the equations are a narrow band, with the factors beside it.
 *
 * @param starts - combines that the hypothesis takes to come with grain in the tank
 */
export function smoothRests(problem: Problem, list: readonly Emptying[], starts: readonly boolean[]): Smoothed {
	const C = problem.flows.length;
	// Unknowns in the order of their solution: starts, rests in order of time, factors last.
	const p = 2 * C + list.length;
	const factor = (c: number): number => p - C + c;
	const order = list.map((_, i) => i).sort((i, j) => list[i]!.end_s - list[j]!.end_s || i - j);
	const rest = new Int32Array(list.length);
	order.forEach((i, place) => {
		rest[i] = C + place;
	});
	const N = new Skyline(p);
	const b = new Float64Array(p);
	const add = (where: readonly number[], value: readonly number[], y: number, variance: number): void => {
		for (let i = 0; i < where.length; i++) {
			const wi = (value[i] as number) / variance;
			b[where[i] as number]! += wi * y;
			for (let j = 0; j < where.length; j++) {
				if ((where[j] as number) <= (where[i] as number))
					N.add(where[i] as number, where[j] as number, wi * (value[j] as number));
			}
		}
	};
	for (let c = 0; c < C; c++) {
		add([factor(c)], [1], 1, MONITOR.factor ** 2);
		const some = COSTS.startShare * (problem.tank_kg[c] as number);
		if (starts[c]) add([c], [1], some, some * some);
		else add([c], [1], 0, TANK.clinging_kg ** 2);
	}
	for (const r of problem.priors.ratios) add([factor(r.a), factor(r.b)], [-r.ratio, 1], 0, r.u * r.u);
	const before = (i: number): number => {
		const e = list[i] as Emptying;
		return i > 0 && (list[i - 1] as Emptying).combine === e.combine ? (rest[i - 1] as number) : e.combine;
	};
	list.forEach((e, i) => {
		add([rest[i] as number], [1], e.prior_kg, e.u_prior_kg ** 2 + e.u_flow_kg ** 2);
	});
	const believed = weights(problem, list).filter((w) => w.believed);
	for (const w of believed) {
		const where: number[] = [];
		const value: number[] = [];
		let variance = w.u2;
		for (const i of w.emptyings) {
			const e = list[i] as Emptying;
			where.push(factor(e.combine), before(i), rest[i] as number);
			value.push(e.fill_kg, 1, -1);
			variance += (problem.priors.fill * e.fill_kg) ** 2;
		}
		add(where, value, w.kg, variance);
	}
	N.decompose();
	const x = N.solve(b);
	const u = N.deviations();
	const level = (j: number): number => Math.max(0, x[j] as number);
	const miss = new Float64Array(list.length).fill(Number.NaN);
	for (const w of believed) {
		let expected = 0;
		for (const i of w.emptyings) {
			const e = list[i] as Emptying;
			expected += (x[factor(e.combine)] as number) * e.fill_kg + level(before(i)) - level(rest[i] as number);
		}
		for (const i of w.emptyings) miss[i] = (w.kg - expected) / Math.max(expected, 0.2 * w.kg);
	}
	return {
		factor: Array.from(x.subarray(p - C)),
		u_factor: Array.from(u.subarray(p - C)),
		start_kg: Array.from({ length: C }, (_, c) => ({ kg: level(c), u_kg: u[c] as number })),
		rest_kg: Float64Array.from(list, (_, i) =>
			Math.min(level(rest[i] as number), problem.tank_kg[list[i]!.combine] as number),
		),
		u_rest_kg: Float64Array.from(list, (_, i) => u[rest[i] as number] as number),
		miss,
	};
}

/** Weights with the emptyings that they cover. */
export function weights(
	problem: Problem,
	list: readonly Emptying[],
): { observation: number; deduced: number; kg: number; u2: number; emptyings: number[]; believed: boolean }[] {
	const byStep = new Map<number, number[]>();
	const all: {
		observation: number;
		deduced: number;
		kg: number;
		u2: number;
		emptyings: number[];
		believed: boolean;
	}[] = [];
	list.forEach((e, i) => {
		if (e.assignment) {
			const s = byStep.get(e.assignment.observation);
			if (s) s.push(i);
			else byStep.set(e.assignment.observation, [i]);
		} else if (e.deduced >= 0) {
			const deduced = problem.deduced[e.deduced]!;
			all.push({
				observation: -1,
				deduced: e.deduced,
				kg: deduced.kg,
				u2: deduced.variance,
				emptyings: [i],
				believed: true,
			});
		}
	});
	for (const [s, emptyings] of byStep) {
		const observation = problem.observations[s]!;
		const believed = list[emptyings[0] as number]!.assignment!.kind !== 'nonsense';
		all.push({ observation: s, deduced: -1, kg: observation.kg, u2: observation.u2, emptyings, believed });
	}
	return all;
}
