import { CART } from '../../model/index.ts';
import { COSTS } from '../problem/costs.ts';
import { idleRun } from '../problem/problem.ts';
import type { Assignment, Insert, Place } from './hypothesis.ts';
import { placesFor } from './places.ts';
import type { Step } from './step.ts';
import { emptied, kept, type Level, levelAt, notes, overflow, type Weight } from './tank-levels.ts';
import { UNKNOWN, unweighed } from './unweighed.ts';

/** Offers dump i as the weight of combine c alone. */
export function offerNormal(step: Step, c: number, which: number): void {
	const { problem, effort, observation, hypothesis, offers } = step;
	const leftOut = problem.wholeLoads ? loadOfOne(step) : 0;
	const noted = notes(observation);
	for (const place of placesFor(step, c)) {
		const level = levelAt(problem, hypothesis, c, place.mass_kg);
		const { m } = level;
		const here = which + place.cost + leftOut;
		const at: At = { step, c, place, noted };
		const idle = here + idleRun(problem) * Math.max(0, place.skippedTo - hypothesis.nextRun[c]!);
		weigh(at, idle + overflow(problem, c, level, observation.kg), observation, level, NONE);
		if (effort.whole) {
			for (const b of unweighed(step, c, place, here)) weigh(at, here + b.cost, observation, b, b.inserts);
			for (const right of observation.right) weigh(at, idle + right.cost, right, level, NONE, right);
			const outlier = idle + OUTLIER + (observation.pinned !== null ? COSTS.overruled : 0);
			if (offers.wants(outlier)) offers.add(outlier, alone(at, false, NONE, null));
		}
		// After an unloading inferred from missing mass alone, the weight may be anything that a tank holds.
		if (m - observation.kg > 0.12 * observation.kg) {
			const signal = effort.whole && problem.runs[c] ? COSTS.augerMissed : 0;
			const cost = idle + problem.priors.unweighed + signal + Math.log(Math.min(m, problem.tank_kg[c]!));
			if (offers.wants(cost)) offers.add(cost, alone(at, false, [UNKNOWN]));
		}
	}
}

/** Where a dump is offered as the weight of one combine. */
interface At {
	step: Step;
	c: number;
	place: Place;
	noted: ReturnType<typeof notes>;
}

/** Offers a weight of a tank that held this much before it: it is empty now, or grain is left in it. */
function weigh(at: At, base: number, weight: Weight, level: Level, inserts: readonly Insert[], right?: Weight): void {
	const { step, c, place, noted } = at;
	const { problem, offers } = step;
	if (!offers.wants(base)) return;
	const empty = base + noted.empty + emptied(weight, level, place.slack);
	if (offers.wants(empty)) offers.add(empty, alone(at, false, inserts, right));
	const rest = base + noted.kept + kept(problem, c, weight, level);
	if (offers.wants(rest)) offers.add(rest, alone(at, true, inserts, right));
}

/** The assignment: an outlier where the weight should have been another, or anything (null). */
function alone({ step, c, place }: At, rests: boolean, inserts: readonly Insert[], right?: Weight | null): Assignment {
	const kind = right === undefined ? 'normal' : 'outlier';
	return { observation: step.i, kind, parts: [{ combine: c, place, rests }], inserts, of: -1, right };
}

const NONE: readonly Insert[] = [];
const OUTLIER = COSTS.foreign + Math.log(CART.nonsense_kg);

/** Cost of a whole cart load from one combine. */
function loadOfOne({ problem, observation }: Step): number {
	return problem.flows.length > 1 ? (observation.noted ? 2 : 1) * COSTS.loadOfOne : 0;
}
