import type { Account } from '../../model/index.ts';
import { quantileOf, tQuantile } from '../../stats/index.ts';
import type { Chain } from '../chain/chain.ts';
import { likelihood, type Play } from '../chain/play.ts';
import { CONSTANT, type Shape } from './shape.ts';
import type { FlowSlope } from './slopes.ts';

/** Significance level of a curve: share of monitors without one for which one may be found. */
const FALSE_ALARM = 0.002;

/** A smaller effect of the curve on the passes (relative, one standard deviation) is not worth a curve. */
const LEAST_CURVE = 0.01;

/** Whether neighboring passes alone show a curve, which weights then rarely refute. */
export function showsCurve({ slope, u, df, spread_kg_s, why }: FlowSlope): boolean {
	if (why !== null || !(Math.abs(slope) * spread_kg_s > LEAST_CURVE)) return false;
	return (slope / u) ** 2 > tQuantile(1 - FALSE_ALARM / 2, df) ** 2;
}

/** Whether seams and weights together show a curve. */
export function acceptsCurve(
	chain: Chain,
	level: Play,
	curve: Play,
	{ slope, u, df, spread_kg_s, why }: FlowSlope,
): boolean {
	if (why !== null || !(Math.abs(slope) * spread_kg_s > LEAST_CURVE)) return false;
	const gain = 2 * (likelihood(chain, curve) - likelihood(chain, level));
	return (slope / u) ** 2 + gain > tQuantile(1 - FALSE_ALARM / 2, df) ** 2;
}

/** A straight line over flow, held level outside the range of observed flows. */
export function flowShape(account: Account, flow: Float64Array, order: Int32Array): Shape {
	let mass = 0;
	let moment = 0;
	const flows = new Float64Array(order.length);
	let n = 0;
	for (const i of order) {
		const m = account.account_kg[i]!;
		if (!(m > 0) || !(flow[i]! > 0)) continue;
		mass += m;
		moment += m * flow[i]!;
		flows[n++] = flow[i]!;
	}
	const range: [number, number] = [quantileOf(flows.subarray(0, n), 0.02), quantileOf(flows.subarray(0, n), 0.98)];
	return { ...CONSTANT, form: 'flow', flow_kg_s: moment / mass, flowRange_kg_s: range };
}
