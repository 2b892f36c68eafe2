import { MONITOR, TANK } from '../../model/index.ts';
import { COSTS } from '../problem/costs.ts';
import type { Observation } from '../problem/observations.ts';
import type { Problem } from '../problem/problem.ts';
import type { Hypothesis } from './hypothesis.ts';
import { lnPhi, normalCost, restCost } from './normal.ts';

/** A tank's level: mean, kg, and variance, kg². */
export interface Level {
	m: number;
	v: number;
}

/** A weight, kg, and the variance of its error, kg². */
export type Weight = Pick<Observation, 'kg' | 'u2'>;

/** Level of tank c at monitor mass `mass_kg`. */
export function levelAt(problem: Problem, hypothesis: Hypothesis, c: number, mass_kg: number): Level {
	const { x, P } = hypothesis.belief;
	const D = x.length;
	const l = (D >> 1) + c;
	const dM = mass_kg - hypothesis.mass_kg[c]!;
	const noise = flowNoise(problem, dM, x[c]!);
	const v = P[l * D + l]! + 2 * dM * P[c * D + l]! + dM * dM * P[c * D + c]! + noise;
	return { m: x[l]! + x[c]! * dM, v };
}

/** Covariance of the levels of two tanks, each at its own monitor mass. */
export function levelsTogether(
	hypothesis: Hypothesis,
	a: number,
	mass_a_kg: number,
	b: number,
	mass_b_kg: number,
): number {
	const { x, P } = hypothesis.belief;
	const D = x.length;
	const C = D >> 1;
	const dA = mass_a_kg - hypothesis.mass_kg[a]!;
	const dB = mass_b_kg - hypothesis.mass_kg[b]!;
	return P[(C + a) * D + C + b]! + dA * P[a * D + C + b]! + dB * P[b * D + C + a]! + dA * dB * P[a * D + b]!;
}

/** Variance of a tank's level after monitor mass `dM`, kg, since a run of the auger emptied it. */
export function sinceEmptied(
	problem: Problem,
	hypothesis: Hypothesis,
	c: number,
	dM: number,
	flow_kg_s: number,
): number {
	const { x, P } = hypothesis.belief;
	const own = P[c * x.length + c]!;
	const moment = (flow_kg_s * RUN_END_S) ** 2;
	return dM * dM * own + flowNoise(problem, dM, x[c]!) + TANK.clinging_kg ** 2 + moment;
}

/** Standard uncertainty of an unloading's end, taken at the end of its run of the auger, seconds (common practice). */
const RUN_END_S = 4;

/** Variance of the monitor's error over mass dM: proportional over one fill, averaging out over several. */
export function flowNoise(problem: Problem, dM: number, k: number): number {
	const one = problem.fill_kg;
	return (MONITOR.fill * k) ** 2 * Math.abs(dM) * Math.max(0.2 * one, Math.min(Math.abs(dM), one));
}

/** Cost of a level that exceeds what the tank can hold; `dump_kg` was certainly in it. */
export function overflow(problem: Problem, c: number, { m, v }: Level, dump_kg: number): number {
	// A whole cart load holds several tanks.
	if (problem.wholeLoads) return 0;
	// Grain comes in while the auger runs; and what a dump weighed was in the tank, whatever size is given for it.
	const tank = TANK.heaped * problem.tank_kg[c]! + 300;
	const coming = problem.usualFlow_kg_s[c]! * (dump_kg / (0.7 * TANK.unloading_kg_s));
	const most = Math.max(tank + coming, 1.05 * dump_kg + 300);
	return -lnPhi((most - m) / Math.sqrt(v + 40_000));
}

/** Costs of a tank that is emptied at a dump and of one with grain left, by the note and the habit in the field. */
export function notes(observation: Observation): { empty: number; kept: number } {
	const p = TANK.emptied;
	return {
		empty: observation.emptied === 1 ? 0.02 : observation.emptied === 0 ? COSTS.notedWrong : -Math.log(p),
		kept: observation.emptied === 0 ? 0.02 : observation.emptied === 1 ? COSTS.notedWrong : -Math.log(1 - p),
	};
}

/** Cost of an empty tank after this weight, where the tank held this much. */
export function emptied({ kg, u2 }: Weight, { m, v }: Level, slack: number): number {
	return normalCost(m - kg, v + u2 + slack);
}

/** Cost of grain left in the tank after this weight, where the tank held this much. */
export function kept(problem: Problem, c: number, { kg, u2 }: Weight, { m, v }: Level): number {
	return restCost(m - kg, v + u2, TANK.restShare * problem.tank_kg[c]!);
}
