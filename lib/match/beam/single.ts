import { CART } from '../../model/index.ts';
import { COSTS } from '../problem/costs.ts';
import type { Observation } from '../problem/observations.ts';
import type { Problem, Table } from '../problem/problem.ts';
import { falseRuns } from '../problem/runs.ts';
import type { Effort } from './effort.ts';
import {
	type Assignment,
	type Hypothesis,
	type Insert,
	type Offerer,
	type Place,
	plainAssignment,
} from './hypothesis.ts';
import { levelAt, overflow, weigh } from './levels.ts';
import { placesFor } from './places.ts';
import { type Before, UNKNOWN, unweighed } from './unweighed.ts';

/** Dump i as the weight of combine c alone. */
export function offerNormal(
	problem: Problem,
	table: Table,
	effort: Effort,
	i: number,
	c: number,
	which: number,
	hypothesis: Hypothesis,
	push: Offerer,
): void {
	const observation = problem.observations[i] as Observation;
	const leftOut = problem.wholeLoads ? loadOfOne(problem, table, effort, i, c, hypothesis) : 0;
	for (const place of placesFor(problem, table, effort, i, c, hypothesis)) {
		const { m, v } = levelAt(problem, hypothesis, c, place.mass_kg);
		const here = which + place.cost + leftOut;
		const make = (rests: boolean, inserts: Insert[]): Assignment => ({
			...plainAssignment(i, 'normal'),
			combine: c,
			rests,
			place,
			inserts,
		});
		const idle = here + falseRuns(problem, c, place.skipped);
		weigh(
			problem,
			observation,
			c,
			m,
			v,
			place.slack,
			idle + overflow(problem, c, m, v, observation.kg),
			(cost, rests) => push(cost, make(rests, [])),
		);
		const weighs = (before: Before): void =>
			weigh(problem, observation, c, before.m, before.v, place.slack, here + before.cost, (cost, rests) =>
				push(cost, make(rests, before.inserts)),
			);
		if (effort.whole) {
			for (const before of unweighed(problem, table, observation, c, place, m, v, hypothesis)) weighs(before);
			offerWrong(problem, observation, c, place, m, v, idle, hypothesis, make, push);
			push(idle + COSTS.foreign + Math.log(CART.nonsense_kg) + (observation.pinned !== null ? COSTS.overruled : 0), {
				...make(false, []),
				kind: 'nonsense',
			});
		}
		// By nothing but the mass that is missing: the weight may be anything that a tank holds.
		if (m - observation.kg > 0.12 * observation.kg) {
			const signal = effort.whole && problem.runs[c] ? problem.priors.augerMissed : 0;
			const cost = idle + problem.priors.unweighed + signal + Math.log(Math.min(m, problem.tank_kg[c] as number));
			push(cost, make(false, [UNKNOWN]));
		}
	}
}

/** A weight that is wrong by just what the cart gave to the truck beyond its dumps. */
function offerWrong(
	problem: Problem,
	observation: Observation,
	c: number,
	place: Place,
	m: number,
	v: number,
	here: number,
	hypothesis: Hypothesis,
	make: (rests: boolean, inserts: Insert[]) => Assignment,
	push: Offerer,
): void {
	for (let p = 0; p < problem.deduced.length; p++) {
		const deduced = problem.deduced[p]!;
		if (observation.pinned !== null || hypothesis.deduced & (problem.facts[p] as number) || deduced.kind !== 'unsaved')
			continue;
		if (observation.time_s < deduced.from_s - 60 || observation.time_s > deduced.to_s + 60) continue;
		const insert: Insert = { kind: 'deduced', deduced: p, runs: [], rests: false };
		// With the weight that it should have been.
		const right: Observation = {
			...observation,
			kg: observation.kg + deduced.kg,
			u2: observation.u2 + deduced.variance,
		};
		weigh(problem, right, c, m, v, place.slack, here + COSTS.wrong, (cost, rests) =>
			push(cost, { ...make(rests, [insert]), kind: 'nonsense' }),
		);
	}
}

/** A whole cart load holds everything since the one before: what the other combines' augers show speaks against it. */
function loadOfOne(
	problem: Problem,
	table: Table,
	effort: Effort,
	i: number,
	c: number,
	hypothesis: Hypothesis,
): number {
	const noted = problem.observations[i]!.noted;
	let cost: number = noted ? 0 : COSTS.loadOfOne;
	const t = table.time_s[i] as number;
	if (noted || !effort.whole || !Number.isFinite(t)) return cost;
	problem.runs.forEach((runs, other) => {
		if (other === c || !runs) return;
		for (let r = hypothesis.nextRun[other] as number; r < runs.length && runs[r]!.end_s < t; r++) {
			if (runs[r]!.end_s - runs[r]!.start_s > 20) cost += COSTS.loadLeavesOut;
		}
	});
	return cost;
}
