/** One emptying of a tank: by a dump, by a run of the auger, or inferred from mass. */
import { TANK, type Unloading } from '../../model/index.ts';
import type { Assignment, Insert, Part } from '../beam/hypothesis.ts';
import { massAt } from '../problem/mass.ts';
import type { Problem } from '../problem/problem.ts';

/** One unloading of a tank in a hypothesis. */
export interface Emptying extends Unloading {
	/** Monitor mass at its end, kg. */
	mass_kg: number;
	/** Its assignment; null where no dump row belongs to it. */
	assignment: Assignment | null;
	/** Index into Problem.deduced; −1 = none. */
	deduced: number;
	/** Grain is left in the tank. */
	rests: boolean;
	/** What is left by the weights up to this one, reference kg. */
	left_kg: number;
	/** Its end follows from mass, not from a signal or the clock. */
	loose: boolean;
}

/** An emptying of which nothing is known yet; its range of records and its mass follow from its end. */
const BLANK: Omit<Emptying, 'combine' | 'start_s' | 'end_s' | 'u_s' | 'mass_kg' | 'u_rest_kg'> = {
	fill: '',
	from: 0,
	to: 0,
	account_kg: 0,
	u_account_kg: 0,
	rest_kg: 0,
	dump: -1,
	ticket: -1,
	unweighed: null,
	deduced_kg: Number.NaN,
	assignment: null,
	deduced: -1,
	rests: false,
	left_kg: 0,
	loose: false,
};

/** The emptying of a dump, after which the tank held `level_kg`. */
export function dumped(
	problem: Problem,
	assignment: Assignment,
	{ combine: c, place, rests }: Part,
	level_kg: number,
): Emptying {
	const observation = problem.observations[assignment.observation]!;
	const run = place.run >= 0 ? problem.runs[c]!.list[place.run] : undefined;
	const some = TANK.restShare * problem.tank_kg[c]!;
	const kg = observation.kg / assignment.parts.length;
	return {
		...BLANK,
		combine: c,
		start_s: run ? run.start_s : place.end_s - 5 - kg / TANK.unloading_kg_s,
		end_s: place.end_s,
		u_s: run ? 3 : observation.sigma_s,
		mass_kg: place.mass_kg,
		u_account_kg: Math.sqrt(Math.max(0, place.slack - TANK.clinging_kg ** 2)),
		rest_kg: rests ? some : 0,
		u_rest_kg: rests ? some : TANK.clinging_kg,
		dump: observation.dump,
		assignment,
		rests,
		left_kg: Math.max(0, level_kg),
		loose: !Number.isFinite(observation.time_s) && !run,
	};
}

/** An emptying by a run of the auger. */
export function byRun(problem: Problem, c: number, { run: r, rests }: Insert, unweighed: string): Emptying {
	const some = TANK.restShare * problem.tank_kg[c]!;
	const run = problem.runs[c]!.list[r]!;
	return {
		...BLANK,
		combine: c,
		start_s: run.start_s,
		end_s: run.end_s,
		u_s: 3,
		mass_kg: run.endMass_kg,
		u_account_kg: run.flow_kg_s * 4,
		rest_kg: rests ? some : 0,
		// Wider than after a dump, since nobody noted that it was emptied.
		u_rest_kg: rests ? some : Math.hypot(TANK.clinging_kg, 0.02 * problem.fill_kg),
		unweighed,
		rests,
		left_kg: some,
	};
}

/** An emptying without a signal, at a time that follows from mass; `mass_kg` since the previous one. */
export function loose(
	problem: Problem,
	c: number,
	{ end_s, reason, mass_kg }: { end_s: number; reason: string; mass_kg: number },
): Emptying {
	return {
		...BLANK,
		combine: c,
		start_s: end_s - 90,
		end_s,
		u_s: 180,
		mass_kg: massAt(problem.flows[c]!, end_s),
		// Its end was inferred from the weights, so it must not constrain the factor.
		u_rest_kg: Math.max(0.3 * problem.fill_kg, 0.3 * mass_kg),
		unweighed: reason,
		loose: true,
	};
}
