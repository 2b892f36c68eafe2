/** One emptying of a tank: by a dump, by a run of the auger, or inferred from mass. */
import { TANK } from '../../model/index.ts';
import type { Assignment, Insert, Part } from '../beam/hypothesis.ts';
import { flowAround, massAt, recordsUntil, timeOfMass } from '../problem/mass.ts';
import type { Problem } from '../problem/problem.ts';

/** One unloading of a tank in a hypothesis; masses are the monitor's, kg. */
export interface Emptying {
	combine: number;
	start_s: number;
	end_s: number;
	u_s: number;
	/** Monitor mass at its end, and the monitor's mass since the previous one. */
	mass_kg: number;
	fill_kg: number;
	/** Half-open range of the combine's records in order of time. */
	from: number;
	to: number;
	/** Flow into the tank at its end. */
	flow_kg_s: number;
	/** Its assignment; null where no dump row belongs to it. */
	assignment: Assignment | null;
	/** Index into Problem.deduced; −1 = none. */
	deduced: number;
	/** Why it has no weight; null where it has one. */
	unweighed: string | null;
	/** Prior of the grain left in the tank: mean and standard uncertainty. */
	prior_kg: number;
	u_prior_kg: number;
	/** Standard uncertainty of mass from that of the end: flow × time. */
	u_flow_kg: number;
	/** Grain is left in the tank. */
	rests: boolean;
	/** Its end follows from mass, not from a signal or the clock. */
	loose: boolean;
}

/** The emptying of a dump. */
export function dumped(problem: Problem, assignment: Assignment, { combine: c, place, rests }: Part): Emptying {
	const observation = problem.observations[assignment.observation]!;
	const run = place.run >= 0 ? problem.runs[c]!.list[place.run] : undefined;
	const tank = problem.tank_kg[c]!;
	const kg = observation.kg / assignment.parts.length;
	const flow = flowAround(problem.flows[c]!, place.end_s);
	return {
		combine: c,
		start_s: run ? run.start_s : place.end_s - 5 - kg / TANK.unloading_kg_s,
		end_s: place.end_s,
		u_s: run ? 3 : observation.sigma_s,
		mass_kg: place.mass_kg,
		fill_kg: 0,
		from: 0,
		to: 0,
		flow_kg_s: flow,
		assignment,
		deduced: -1,
		unweighed: null,
		prior_kg: rests ? TANK.restShare * tank : 0,
		u_prior_kg: rests ? TANK.restShare * tank : TANK.clinging_kg,
		u_flow_kg: Math.sqrt(Math.max(0, place.slack - TANK.clinging_kg ** 2)),
		rests,
		loose: !Number.isFinite(observation.time_s) && !run,
	};
}

/** An emptying by a run of the auger. */
export function byRun(problem: Problem, c: number, insert: Insert, reason: string): Emptying {
	const some = TANK.restShare * problem.tank_kg[c]!;
	const run = problem.runs[c]!.list[insert.run]!;
	return {
		combine: c,
		start_s: run.start_s,
		end_s: run.end_s,
		u_s: 3,
		mass_kg: run.endMass_kg,
		fill_kg: 0,
		from: 0,
		to: 0,
		flow_kg_s: run.flow_kg_s,
		assignment: null,
		deduced: -1,
		unweighed: reason,
		prior_kg: insert.rests ? some : 0,
		// Wider than after a dump, since nobody noted that it was emptied.
		u_prior_kg: insert.rests ? some : Math.hypot(TANK.clinging_kg, 0.02 * problem.fill_kg),
		u_flow_kg: run.flow_kg_s * 4,
		rests: insert.rests,
		loose: false,
	};
}

/** An emptying without a signal, at a time that follows from mass; `mass_kg` since the previous one. */
export function loose(
	problem: Problem,
	c: number,
	{ end_s, reason, mass_kg }: { end_s: number; reason: string; mass_kg: number },
): Emptying {
	const f = problem.flows[c]!;
	return {
		combine: c,
		start_s: end_s - 90,
		end_s,
		u_s: 180,
		mass_kg: massAt(f, end_s),
		fill_kg: 0,
		from: 0,
		to: 0,
		flow_kg_s: flowAround(f, end_s),
		assignment: null,
		deduced: -1,
		unweighed: reason,
		prior_kg: 0,
		// Its end was inferred from the weights, so it must not constrain the factor.
		u_prior_kg: Math.max(0.3 * problem.fill_kg, 0.3 * mass_kg),
		u_flow_kg: 0,
		rests: false,
		loose: true,
	};
}

/** End of the stop of at least 40 s nearest this monitor mass; null where there is none within `share` of a fill. */
export function standingNear(problem: Problem, c: number, mass_kg: number, share: number): number | null {
	const f = problem.flows[c]!;
	const reach = share * problem.fill_kg;
	const from = recordsUntil(f, timeOfMass(f, mass_kg - reach));
	const to = recordsUntil(f, timeOfMass(f, mass_kg + reach));
	let best: number | null = null;
	let miss = Infinity;
	for (let k = Math.max(1, from); k < Math.min(to + 1, f.time_s.length); k++) {
		if (f.stood_s[k + 1]! === f.stood_s[k]!) continue;
		let end = k;
		while (end + 1 < f.time_s.length && f.stood_s[end + 2]! > f.stood_s[end + 1]!) end++;
		const stood = f.stood_s[end + 1]! - f.stood_s[k]!;
		const d = Math.abs(f.sum_kg[end + 1]! - mass_kg);
		if (stood >= 40 && d < miss) {
			miss = d;
			best = f.time_s[end]!;
		}
		k = end;
	}
	return best;
}

export const factorOf = (problem: Problem, c: number): number => problem.priors.factor[c]!;
