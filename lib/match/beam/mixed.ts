import { TANK } from '../../model/index.ts';
import { COSTS } from '../problem/costs.ts';
import type { Observation } from '../problem/observations.ts';
import type { Problem, Table } from '../problem/problem.ts';
import type { Effort } from './effort.ts';
import { type Assignment, type Hypothesis, type Offerer, plainAssignment } from './hypothesis.ts';
import { levelAt } from './levels.ts';
import { normalCost, restCost } from './normal.ts';
import { mixedPlace } from './places.ts';
import { UNKNOWN } from './unweighed.ts';

/** One weight of two combines. */
export function offerMixed(
	problem: Problem,
	table: Table,
	effort: Effort,
	i: number,
	hypothesis: Hypothesis,
	push: Offerer,
): void {
	const observation = problem.observations[i] as Observation;
	const C = problem.flows.length;
	const noted = observation.mixed.length > 1;
	if (!noted && (!(effort.whole || problem.wholeLoads) || observation.noted || C < 2)) return;
	const pairs: [number, number][] = [];
	if (noted) pairs.push([observation.mixed[0] as number, observation.mixed[1] as number]);
	else for (let a = 0; a < C; a++) for (let b = a + 1; b < C; b++) pairs.push([a, b]);
	const which = noted ? 0 : problem.mixedCost + Math.log(pairs.length);
	for (const [a, b] of pairs) {
		const placeA = mixedPlace(problem, table, effort, i, a, hypothesis);
		const placeB = mixedPlace(problem, table, effort, i, b, hypothesis);
		if (!placeA || !placeB) continue;
		const A = levelAt(problem, hypothesis, a, placeA.mass_kg);
		const B = levelAt(problem, hypothesis, b, placeB.mass_kg);
		// A weight of two is told from a weight of one only where both tanks gave something.
		if (!noted && (A.m < 0.08 * observation.kg || B.m < 0.08 * observation.kg)) continue;
		const { P } = hypothesis.belief;
		const D = 2 * C;
		const dA = placeA.mass_kg - (hypothesis.mass_kg[a] as number);
		const dB = placeB.mass_kg - (hypothesis.mass_kg[b] as number);
		const cov =
			(P[(C + a) * D + C + b] as number) +
			dA * (P[a * D + C + b] as number) +
			dB * (P[b * D + C + a] as number) +
			dA * dB * (P[a * D + b] as number);
		const left = A.m + B.m - observation.kg;
		const v = Math.max(100, A.v + B.v + 2 * cov + observation.u2);
		const base = which + placeA.cost + placeB.cost;
		const p = Math.min(0.98, Math.max(0.02, problem.priors.emptied));
		const empty = observation.emptied === 1 ? 0.02 : observation.emptied === 0 ? COSTS.notedWrong : -2 * Math.log(p);
		const one = observation.emptied === 1 ? COSTS.notedWrong : -Math.log(p * (1 - p));
		const both = observation.emptied === 1 ? COSTS.notedWrong : -2 * Math.log(1 - p);
		const scaleA = TANK.restShare * (problem.tank_kg[a] as number);
		const scaleB = TANK.restShare * (problem.tank_kg[b] as number);
		const make = (rests: boolean, otherRests: boolean): Assignment => ({
			...plainAssignment(i, 'mixed'),
			combine: a,
			other: b,
			rests,
			otherRests,
			place: placeA,
			otherPlace: placeB,
		});
		push(base + empty + normalCost(left, v + placeA.slack + placeB.slack), make(false, false));
		push(base + one + restCost(left, v + placeB.slack, scaleA), make(true, false));
		push(base + one + restCost(left, v + placeA.slack, scaleB), make(false, true));
		// Both keep something: as one rest of the two, which is what the weight tells.
		push(base + both + restCost(left, v, scaleA + scaleB), make(true, true));
		// Loads before it that nobody weighed: the weight may be anything that two tanks hold.
		if (left > 0.12 * observation.kg) {
			const most = Math.min(A.m + B.m, (problem.tank_kg[a] as number) + (problem.tank_kg[b] as number));
			push(base + problem.priors.unweighed + Math.log(most), { ...make(false, false), inserts: [UNKNOWN] });
		}
	}
}
