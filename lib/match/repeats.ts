import { COSTS } from './costs.ts';
import { normalCost } from './normal.ts';
import { type Offerer, plainChoice, type Reading } from './reading.ts';
import type { Scene } from './scene.ts';
import type { Step } from './steps.ts';
import type { Told } from './told.ts';

/** The same weight saved once more. */
export function offerRepeat(scene: Scene, step: Step, i: number, reading: Reading, odd: number, push: Offerer): void {
	let looked = 0;
	for (let r: Reading | null = reading; r?.choice && looked < 3; r = r.parent, looked++) {
		const first = scene.steps[r.choice.step] as Step;
		if (r.choice.kind === 'repeat' || r.choice.kind === 'stranger') continue;
		const apart = step.time_s - first.time_s;
		const timed = Number.isFinite(apart);
		if (timed ? apart > 900 : looked > 0) continue;
		const d = step.kg - first.kg;
		if (Math.abs(d) > 0.01 * first.kg + 20) continue;
		if (step.noted && first.noted && !sameCombines(step, first)) continue;
		let cost: number = COSTS.repeated + odd;
		cost += normalCost(d, 12 * 12 + (0.002 * first.kg) ** 2);
		// Against dumps that come at any time, once in ten minutes or so.
		cost += timed ? apart / COSTS.repeatedWithin_s + Math.log(COSTS.repeatedWithin_s / 600) : 0;
		if (scene.repeated.has(step.dump)) cost -= 3;
		if (scene.balanced.has(step.dump)) cost += COSTS.levelDenied;
		cost += twinCost(scene, reading, step.dump, true);
		push(cost, { ...plainChoice(i, 'repeat'), combine: r.choice.combine, other: r.choice.other, of: r.choice.step });
	}
}

/** What the tellings already taken up say against this dump being saved twice, or against its not being so. */
export function twinCost(scene: Scene, reading: Reading, dump: number, twice: boolean): number {
	let cost = 0;
	for (let p = 0; p < scene.told.length; p++) {
		if (!(reading.told & (1 << p))) continue;
		const told = scene.told[p]!;
		if (told.twins.includes(dump) && (told.twin === dump) !== twice) cost += COSTS.levelDenied;
	}
	return cost;
}

/** The same for a telling that is taken up after the dumps it speaks of. */
export function tellingCost(scene: Scene, reading: Reading, told: Told): number {
	let cost = 0;
	if (told.twins.length === 0) return 0;
	for (let r: Reading | null = reading; r?.choice; r = r.parent) {
		const dump = scene.steps[r.choice.step]!.dump;
		if (!told.twins.includes(dump)) continue;
		if ((told.twin === dump) !== (r.choice.kind === 'repeat')) cost += COSTS.levelDenied;
	}
	return cost;
}

function sameCombines(a: Step, b: Step): boolean {
	const x = a.mixed.length > 0 ? a.mixed : a.combines;
	const y = b.mixed.length > 0 ? b.mixed : b.combines;
	return x.length === y.length && x.every((c) => y.includes(c));
}
