import { COSTS, USUAL } from './costs.ts';
import { lnPhi, normalCost, restCost } from './normal.ts';
import type { Reading } from './reading.ts';
import type { Scene } from './scene.ts';
import type { Step } from './steps.ts';

/** Mean and variance of tank c's level when its monitor has come to `mass_kg`. */
export function levelAt(scene: Scene, reading: Reading, c: number, mass_kg: number): { m: number; v: number } {
	const { x, P } = reading.belief;
	const D = x.length;
	const l = D / 2 + c;
	const dM = mass_kg - (reading.mass_kg[c] as number);
	const noise = flowNoise(scene, dM, x[c] as number);
	const v = (P[l * D + l] as number) + 2 * dM * (P[c * D + l] as number) + dM * dM * (P[c * D + c] as number) + noise;
	return { m: (x[l] as number) + (x[c] as number) * dM, v };
}

/** Variance of what the monitor gets wrong over a stretch: relative over one fill, averaging out over several. */
export function flowNoise(scene: Scene, dM: number, k: number): number {
	const one = scene.fill_kg;
	return (scene.habits.fill * k) ** 2 * Math.abs(dM) * Math.max(0.2 * one, Math.min(Math.abs(dM), one));
}

export function overflow(scene: Scene, c: number, m: number, v: number, dump_kg: number): number {
	// A whole load holds several tanks.
	if (scene.wholeLoads) return 0;
	// While the auger runs grain keeps coming; and what a dump weighed was in the tank, whatever is said of its size.
	const tank = 1.12 * (scene.tank_kg[c] as number) + 300;
	const coming = (scene.usualFlow_kg_s[c] as number) * (dump_kg / (0.7 * USUAL.unloading_kg_s));
	const most = Math.max(tank + coming, 1.05 * dump_kg + 300);
	return -lnPhi((most - m) / Math.sqrt(v + 40_000));
}

/** The tank held N(m, v) and gave this weight: it is empty now, or keeps a rest. */
export function weigh(
	scene: Scene,
	step: Step,
	c: number,
	m: number,
	v: number,
	slack: number,
	base: number,
	push: (cost: number, rests: boolean) => void,
): void {
	const left = m - step.kg;
	const spread = v + step.u2;
	const p = scene.habits.emptied;
	const empty = step.emptied === 1 ? 0.02 : step.emptied === 0 ? COSTS.notedWrong : -Math.log(p);
	const kept = step.emptied === 0 ? 0.02 : step.emptied === 1 ? COSTS.notedWrong : -Math.log(1 - p);
	push(base + empty + normalCost(left, spread + slack), false);
	push(base + kept + restCost(left, spread, COSTS.restShare * (scene.tank_kg[c] as number)), true);
}
