import type { Dump, Records } from '../model/index.ts';
import { massAt } from './mass.ts';
import type { Choice } from './reading.ts';
import type { Scene } from './scene.ts';
import { span, weight } from './words.ts';

/** Why a dump is not believed, or is no dump of this field's grain. */
export function strangerReason(scene: Scene, records: Records, choice: Choice, offset_s: number): string {
	const step = scene.steps[choice.step]!;
	const t = step.time_s + offset_s;
	const heaviest = Math.max(...scene.tank_kg);
	if (step.kg > 1.6 * heaviest) return `${weight(step.kg)} is more than any tank here holds`;
	if (Number.isFinite(t)) {
		const working = scene.flows.some((f) => t > f.start_s && t < f.end_s + 3600);
		if (!working) return 'no combine was at work in this field then: probably grain of another field';
		const enough = scene.flows.some((f, c) => massAt(f, t) * (scene.habits.factor[c] as number) > 0.8 * step.kg);
		if (!enough) return 'no combine had cut this much by then';
	}
	const who = step.noted ? step.combines.map((c) => records.combines[c]).join(' or ') : 'any combine';
	return `does not fit what ${who} had in the tank then: another field's grain, or a wrong weight`;
}

export function nonsenseReason(records: Records, choice: Choice, held_kg: number, kg: number): string {
	const name = records.combines[choice.combine];
	return `${name}'s tank held about ${weight(held_kg)} then, and ${weight(kg)} was saved: the weight is not believed`;
}

export function repeatReason(first: Dump, second: Dump): string {
	const apart = second.time_s - first.time_s;
	const timed = Number.isFinite(apart) && first.timeGrain === 'second' && second.timeGrain === 'second';
	return timed ? `logged twice, ${span(apart)} apart (see ${first.id})` : `logged twice (see ${first.id})`;
}

/** Rests that no number does justice to, kg. */
const LITTLE_KG = 60;

/** Why a dump is used together with others; null where its tank was empty before and after it. */
export function joinedReason(
	name: string,
	before: { rests: boolean; kg: number; start: boolean },
	after: { rests: boolean; kg: number; noted: boolean },
): string | null {
	const parts: string[] = [];
	const some = (kg: number): string => (kg < LITTLE_KG ? 'a little' : `about ${weight(kg)}`);
	if (before.rests) {
		parts.push(
			before.start
				? `${name} came with ${some(before.kg)} in its tank`
				: `${some(before.kg)} was in ${name}'s tank from the dump before, joined with it`,
		);
	}
	if (after.rests) {
		parts.push(
			`${name}'s tank held ${some(after.kg)} more than this dump: ${after.noted ? 'noted as' : 'probably'} not emptied, joined with the next`,
		);
	}
	return parts.length > 0 ? parts.join('; ') : null;
}
