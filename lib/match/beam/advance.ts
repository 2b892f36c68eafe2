import { TANK } from '../../model/index.ts';
import type { Observation } from '../problem/observations.ts';
import type { Problem } from '../problem/problem.ts';
import { flowIn, learnLevel, learnRest, setLevel, shareOut, takeOut } from './belief.ts';
import type { Offer } from './effort.ts';
import type { Assignment, Hypothesis, Insert, Place } from './hypothesis.ts';
import { flowNoise } from './levels.ts';

/** The hypothesis that an offer leads to. */
export function advance(problem: Problem, o: Offer): Hypothesis {
	const { parent, assignment } = o;
	const next: Hypothesis = {
		cost: o.cost,
		belief: parent.belief,
		mass_kg: parent.mass_kg,
		time_s: parent.time_s,
		nextRun: parent.nextRun,
		last_s: parent.last_s,
		deduced: parent.deduced,
		assignment,
		parent,
		rivals: [],
		endings: [],
	};
	if (assignment.kind === 'repeat' || assignment.kind === 'foreign' || !assignment.place) return next;
	const observation = problem.observations[assignment.observation] as Observation;
	next.belief = parent.belief.copy();
	next.mass_kg = parent.mass_kg.slice();
	next.time_s = parent.time_s.slice();
	next.nextRun = parent.nextRun.slice();
	moveOn(problem, next, assignment.combine, assignment.place, assignment.inserts);
	const c = assignment.combine;
	if (assignment.kind === 'nonsense' && (!assignment.rests || assignment.inserts.length === 0)) {
		setLevel(next.belief, c, 0, assignment.place.slack);
		return next;
	}
	if (assignment.kind === 'mixed' && assignment.otherPlace) {
		advanceMixed(problem, next, assignment, observation);
		return next;
	}
	if (assignment.inserts.some((n) => n.kind === 'unknown')) {
		setLevel(next.belief, c, 0, assignment.place.slack);
		return next;
	}
	takeOut(next.belief, c, observation.kg, observation.u2);
	if (assignment.rests) learnRest(next.belief, c, TANK.restShare * (problem.tank_kg[c] as number));
	else learnLevel(next.belief, c, 0, assignment.place.slack);
	return next;
}

/** Lets combine c's grain flow in up to the place, what left it unweighed taken out on the way. */
function moveOn(problem: Problem, next: Hypothesis, c: number, place: Place, inserts: readonly Insert[]): void {
	const b = next.belief;
	let from = next.mass_kg[c] as number;
	const k = b.x[c] as number;
	for (const insert of inserts) {
		if (insert.kind === 'run') {
			const run = problem.runs[c]![insert.runs[insert.runs.length - 1] as number]!;
			const some = insert.rests ? TANK.restShare * (problem.tank_kg[c] as number) : 0;
			setLevel(b, c, some, TANK.clinging_kg ** 2 + (run.flow_kg_s * 4) ** 2 + some * some);
			from = run.endMass_kg;
		} else if (insert.kind === 'deduced') {
			const deduced = problem.deduced[insert.deduced]!;
			takeOut(b, c, deduced.kg, deduced.variance);
			next.deduced |= 1 << insert.deduced;
		}
	}
	const dM = place.mass_kg - from;
	flowIn(b, c, dM, flowNoise(problem, dM, k));
	next.mass_kg[c] = place.mass_kg;
	next.time_s[c] = place.end_s;
	next.nextRun[c] = place.nextRun;
	next.last_s = Math.max(next.last_s, place.end_s);
}

function advanceMixed(problem: Problem, next: Hypothesis, assignment: Assignment, observation: Observation): void {
	let a = assignment.combine;
	let b = assignment.other;
	moveOn(problem, next, b, assignment.otherPlace as Place, []);
	if (assignment.inserts.length > 0) {
		setLevel(next.belief, a, 0, (assignment.place as Place).slack);
		setLevel(next.belief, b, 0, (assignment.otherPlace as Place).slack);
		return;
	}
	let slackA = (assignment.place as Place).slack;
	let slackB = (assignment.otherPlace as Place).slack;
	let restsA = assignment.rests;
	let restsB = assignment.otherRests;
	if (restsA && !restsB) {
		[a, b, slackA, slackB, restsA, restsB] = [b, a, slackB, slackA, restsB, restsA];
	}
	const scaleA = TANK.restShare * (problem.tank_kg[a] as number);
	const scaleB = TANK.restShare * (problem.tank_kg[b] as number);
	if (restsA) {
		const C = problem.flows.length;
		const left = Math.max(0, (next.belief.x[C + a] as number) + (next.belief.x[C + b] as number) - observation.kg);
		const share = (left * scaleA) / (scaleA + scaleB);
		shareOut(next.belief, a, b, observation.kg, observation.u2, share, (0.6 * share + 150) ** 2);
		learnRest(next.belief, b, scaleB);
	} else {
		shareOut(next.belief, a, b, observation.kg, observation.u2, 0, slackA);
		if (restsB) learnRest(next.belief, b, scaleB);
		else learnLevel(next.belief, b, 0, slackB);
	}
}
