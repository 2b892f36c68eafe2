import { COSTS } from '../problem/costs.ts';
import type { Observation } from '../problem/observations.ts';
import { normalCost } from './normal.ts';
import type { Step } from './step.ts';

/** Offers a dump as a second entry of the one before it. */
export function offerRepeat({ problem, observation, i, hypothesis, offers }: Step, odd: number): void {
	const before = hypothesis.assignment;
	if (!before || before.kind === 'foreign') return;
	const of = before.kind === 'repeat' ? before.of : before.observation;
	const first = problem.observations[of]!;
	const apart = observation.time_s - first.time_s;
	const timed = Number.isFinite(apart);
	if (timed && apart > 900) return;
	const d = observation.kg - first.kg;
	if (Math.abs(d) > 0.01 * first.kg + 20) return;
	if (observation.noted && first.noted && !sameCombines(observation, first)) return;
	let cost: number = COSTS.repeated + odd;
	cost += normalCost(d, 12 * 12 + (0.002 * first.kg) ** 2);
	// Relative to dumps at any time, about one in ten minutes.
	cost += timed ? apart / COSTS.repeatedWithin_s + Math.log(COSTS.repeatedWithin_s / 600) : 0;
	if (offers.wants(cost)) offers.add(cost, { observation: i, kind: 'repeat', parts: before.parts, inserts: [], of });
}

function sameCombines(a: Observation, b: Observation): boolean {
	const x = a.mixed.length > 0 ? a.mixed : a.combines;
	const y = b.mixed.length > 0 ? b.mixed : b.combines;
	return x.length === y.length && x.every((c) => y.includes(c));
}
