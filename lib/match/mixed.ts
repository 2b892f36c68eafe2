import type { Effort } from './align.ts';
import { COSTS } from './costs.ts';
import { levelAt } from './levels.ts';
import { normalCost, restCost } from './normal.ts';
import { mixedPlace } from './places.ts';
import { type Choice, type Offerer, plainChoice, type Reading } from './reading.ts';
import type { Scene, Table } from './scene.ts';
import type { Step } from './steps.ts';

/** One weight of two combines. */
export function offerMixed(
	scene: Scene,
	table: Table,
	effort: Effort,
	i: number,
	reading: Reading,
	push: Offerer,
): void {
	const step = scene.steps[i] as Step;
	const C = scene.flows.length;
	const noted = step.mixed.length > 1;
	if (!noted && (!(effort.whole || scene.wholeLoads) || step.noted || C < 2)) return;
	const pairs: [number, number][] = [];
	if (noted) pairs.push([step.mixed[0] as number, step.mixed[1] as number]);
	else for (let a = 0; a < C; a++) for (let b = a + 1; b < C; b++) pairs.push([a, b]);
	const which = noted ? 0 : scene.mixedCost + Math.log(pairs.length);
	for (const [a, b] of pairs) {
		const placeA = mixedPlace(scene, table, effort, i, a, reading);
		const placeB = mixedPlace(scene, table, effort, i, b, reading);
		if (!placeA || !placeB) continue;
		const A = levelAt(scene, reading, a, placeA.mass_kg);
		const B = levelAt(scene, reading, b, placeB.mass_kg);
		// A weight of two is told from a weight of one only where both tanks gave something.
		if (!noted && (A.m < 0.08 * step.kg || B.m < 0.08 * step.kg)) continue;
		const { P } = reading.belief;
		const D = 2 * C;
		const dA = placeA.mass_kg - (reading.mass_kg[a] as number);
		const dB = placeB.mass_kg - (reading.mass_kg[b] as number);
		const cov =
			(P[(C + a) * D + C + b] as number) +
			dA * (P[a * D + C + b] as number) +
			dB * (P[b * D + C + a] as number) +
			dA * dB * (P[a * D + b] as number);
		const left = A.m + B.m - step.kg;
		const v = Math.max(100, A.v + B.v + 2 * cov + step.u2);
		const base = which + placeA.cost + placeB.cost;
		const p = Math.min(0.98, Math.max(0.02, scene.habits.emptied));
		const empty = step.emptied === 1 ? 0.02 : step.emptied === 0 ? COSTS.notedWrong : -2 * Math.log(p);
		const one = step.emptied === 1 ? COSTS.notedWrong : -Math.log(p * (1 - p));
		const both = step.emptied === 1 ? COSTS.notedWrong : -2 * Math.log(1 - p);
		const scaleA = COSTS.restShare * (scene.tank_kg[a] as number);
		const scaleB = COSTS.restShare * (scene.tank_kg[b] as number);
		const make = (rests: boolean, otherRests: boolean): Choice => ({
			...plainChoice(i, 'mixed'),
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
	}
}
