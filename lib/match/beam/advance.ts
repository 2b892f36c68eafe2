import { TANK } from '../../model/index.ts';
import type { Observation } from '../problem/observations.ts';
import type { Problem } from '../problem/problem.ts';
import type { Ending, Hypothesis, Insert, Offer, Part } from './hypothesis.ts';
import { flowNoise } from './tank-levels.ts';
import { flowIn, learnLevel, learnRest, poolIn, setLevel, takeOut } from './update-belief.ts';

/** Extends a hypothesis by an offer's assignment and updates its filter state. */
export function advance(problem: Problem, o: Offer): Hypothesis {
	const { parent, assignment } = o;
	const { parts, inserts } = assignment;
	const next: Hypothesis = {
		cost: o.cost,
		belief: parent.belief,
		mass_kg: parent.mass_kg,
		time_s: parent.time_s,
		nextRun: parent.nextRun,
		last_s: parent.last_s,
		changed: parent.changed,
		assignment,
		parent,
		rivals: NO_RIVALS,
		endings: NO_ENDINGS,
	};
	if (assignment.kind === 'repeat' || parts.length === 0) return next;
	const observation = problem.observations[assignment.observation]!;
	next.belief = parent.belief.copy();
	next.mass_kg = parent.mass_kg.slice();
	next.time_s = parent.time_s.slice();
	next.nextRun = parent.nextRun.slice();
	for (const part of parts) moveOn(problem, next, part, part === parts[0] ? inserts : NONE);
	const [part] = parts as [Part];
	const right = assignment.kind === 'outlier' ? assignment.right : observation;
	if (inserts.some((i) => i.run < 0) || !right)
		for (const { combine, place } of parts) setLevel(next.belief, combine, 0, place.slack);
	else if (parts.length > 1) shareOut(problem, next, parts, observation);
	else {
		takeOut(next.belief, part.combine, right.kg, right.u2);
		keep(problem, next, part);
	}
	return next;
}

const NONE: readonly Insert[] = [];
const NO_RIVALS: readonly Hypothesis[] = [];
const NO_ENDINGS: readonly Ending[] = [];

/** Lets a combine's grain flow in up to the place and takes out what was unloaded without a weight before it. */
function moveOn(problem: Problem, next: Hypothesis, { combine: c, place }: Part, inserts: readonly Insert[]): void {
	const b = next.belief;
	let from = next.mass_kg[c]!;
	const k = b.x[c]!;
	for (const insert of inserts) {
		if (insert.run < 0) continue;
		const run = problem.runs[c]!.list[insert.run]!;
		const some = insert.rests ? TANK.restShare * problem.tank_kg[c]! : 0;
		setLevel(b, c, some, TANK.clinging_kg ** 2 + (run.flow_kg_s * 4) ** 2 + some * some);
		from = run.endMass_kg;
	}
	const dM = place.mass_kg - from;
	flowIn(b, c, dM, flowNoise(problem, dM, k));
	(next.mass_kg as number[])[c] = place.mass_kg;
	(next.time_s as number[])[c] = place.end_s;
	(next.nextRun as number[])[c] = place.nextRun;
	next.last_s = Math.max(next.last_s, place.end_s);
}

/** Observes the tank after the dump: empty, or with grain left in it. */
function keep(problem: Problem, next: Hypothesis, { combine, rests, place }: Part): void {
	if (rests) learnRest(next.belief, combine, TANK.restShare * problem.tank_kg[combine]!);
	else learnLevel(next.belief, combine, 0, place.slack);
}

/**
 * Applies one weight of several tanks, which determines the sum over the tanks. One tank has the sum; the others are
 * empty or keep their share of the grain left.
 */
function shareOut(problem: Problem, next: Hypothesis, parts: readonly Part[], observation: Observation): void {
	const { belief } = next;
	const L = problem.flows.length;
	const scale = (p: Part): number => TANK.restShare * problem.tank_kg[p.combine]!;
	const last = parts.at(-1)!;
	const scales = parts.reduce((sum, p) => sum + scale(p), 0);
	const held = parts.reduce((sum, p) => sum + belief.x[L + p.combine]!, 0);
	const left = Math.max(0, held - observation.kg);
	takeOut(belief, last.combine, observation.kg, observation.u2);
	for (const p of parts) {
		if (p === last) continue;
		const share = p.rests ? (left * scale(p)) / scales : 0;
		poolIn(belief, p.combine, last.combine, share, p.rests ? (0.6 * share + 150) ** 2 : p.place.slack);
	}
	keep(problem, next, last);
}
