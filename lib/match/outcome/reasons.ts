import type { Dump, Records } from '../../model/index.ts';
import { durationText, massInBoth } from '../../units/index.ts';
import type { Assignment, Insert } from '../beam/hypothesis.ts';
import type { Deduced } from '../problem/deduced.ts';
import { massAt } from '../problem/mass.ts';
import type { Problem } from '../problem/problem.ts';

/** Why a weight is not taken as grain of this field. */
export function foreignReason(
	problem: Problem,
	records: Records,
	factor: readonly number[],
	assignment: Assignment,
	offset_s: number,
): string {
	const observation = problem.observations[assignment.observation]!;
	const t = observation.time_s + offset_s;
	const heaviest = Math.max(...problem.tank_kg);
	if (observation.kg > 1.6 * heaviest) return `${massInBoth(observation.kg)} is more than any tank here holds`;
	if (Number.isFinite(t)) {
		const working = problem.flows.some((f) => t > f.start_s && t < f.end_s + 3600);
		if (!working) return 'no combine was at work in this field then; possibly grain from another field';
		const enough = problem.flows.some((f, c) => massAt(f, t) * factor[c]! > 0.8 * observation.kg);
		if (!enough) return 'no combine had cut this much by then';
	}
	const who = observation.noted ? observation.combines.map((c) => records.combines[c]).join(' or ') : 'any combine';
	return `does not match what ${who} had in the tank then; possibly another field's grain or a wrong weight`;
}

/** Why a weight is an outlier. */
export function outlierReason(records: Records, assignment: Assignment, held_kg: number, kg: number): string {
	const name = records.combines[assignment.parts[0]!.combine];
	return `${massInBoth(kg)} recorded, about ${massInBoth(held_kg)} expected in ${name}'s tank; possibly a wrong weight`;
}

/** Why a weight is a second entry of another. */
export function repeatReason(first: Dump, second: Dump): string {
	const apart = second.time_s - first.time_s;
	const timed = Number.isFinite(apart) && first.timeGrain === 'second' && second.timeGrain === 'second';
	return timed ? `entered twice, ${durationText(apart)} apart (see ${first.id})` : `entered twice (see ${first.id})`;
}

/** Less grain left in the tank than this is given without a number, kg. */
const LITTLE_KG = 60;

/** Why a dump is grouped with others; null where its tank was empty before and after it. */
export function joinedReason(
	name: string,
	before: { rests: boolean; kg: number; start: boolean },
	after: { rests: boolean; kg: number; noted: boolean },
): string | null {
	const parts: string[] = [];
	const some = (kg: number): string => (kg < LITTLE_KG ? 'a little' : `about ${massInBoth(kg)}`);
	if (before.rests) {
		parts.push(
			before.start
				? `${name} arrived with ${some(before.kg)} in its tank`
				: `${some(before.kg)} was left in ${name}'s tank by the dump before; grouped with it`,
		);
	}
	if (after.rests) {
		parts.push(
			`${some(after.kg)} stayed in ${name}'s tank (${after.noted ? 'entered as' : 'probably'} not emptied); grouped with the next dump`,
		);
	}
	return parts.length > 0 ? parts.join('; ') : null;
}

/** Why a deduced unloading has no dump. */
export function deducedReason(deduced: Deduced): string {
	return deduced.kind === 'straight'
		? `direct to truck: its ticket has ${massInBoth(deduced.kg)}`
		: `no dump saved: the cart put ${massInBoth(deduced.kg)} more on the truck than its dumps add up to`;
}

/** Why an unloading that was not deduced has no weight. */
export function unweighedReason(problem: Problem, insert: Insert): string {
	if (insert.run >= 0) return 'the unloading auger ran and no weight was entered; possibly direct to truck';
	const held = problem.hasOffloads ? ', and the cart never held it' : '';
	return `the next dump is about one tank load lighter than what was cut${held}; probably unloaded without a weight`;
}
