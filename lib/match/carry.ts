import type { Offer } from './align.ts';
import { COSTS, USUAL } from './costs.ts';
import { flowNoise } from './levels.ts';
import type { Choice, Insert, Place, Reading } from './reading.ts';
import type { Scene } from './scene.ts';
import { copyBelief, flowIn, learnLevel, learnRest, setLevel, shareOut, takeOut } from './state.ts';
import type { Step } from './steps.ts';

/** The reading that an offer leads to. */
export function carryOut(scene: Scene, o: Offer): Reading {
	const { parent, choice } = o;
	const next: Reading = {
		cost: o.cost,
		belief: parent.belief,
		mass_kg: parent.mass_kg,
		time_s: parent.time_s,
		nextRun: parent.nextRun,
		last_s: parent.last_s,
		told: parent.told,
		choice,
		parent,
		rivals: [],
		endings: [],
	};
	if (choice.kind === 'repeat' || choice.kind === 'stranger' || !choice.place) return next;
	const step = scene.steps[choice.step] as Step;
	next.belief = copyBelief(parent.belief);
	next.mass_kg = parent.mass_kg.slice();
	next.time_s = parent.time_s.slice();
	next.nextRun = parent.nextRun.slice();
	moveOn(scene, next, choice.combine, choice.place, choice.inserts);
	const c = choice.combine;
	if (choice.kind === 'nonsense' && (!choice.rests || choice.inserts.length === 0)) {
		setLevel(next.belief, c, 0, choice.place.slack);
		return next;
	}
	if (choice.kind === 'mixed' && choice.otherPlace) {
		carryOutMixed(scene, next, choice, step);
		return next;
	}
	if (choice.inserts.some((n) => n.kind === 'unknown')) {
		setLevel(next.belief, c, 0, choice.place.slack);
		return next;
	}
	takeOut(next.belief, c, step.kg, step.u2);
	if (choice.rests) learnRest(next.belief, c, COSTS.restShare * (scene.tank_kg[c] as number));
	else learnLevel(next.belief, c, 0, choice.place.slack);
	return next;
}

/** Lets combine c's grain flow in up to the place, what left it unweighed taken out on the way. */
function moveOn(scene: Scene, next: Reading, c: number, place: Place, inserts: readonly Insert[]): void {
	const b = next.belief;
	let from = next.mass_kg[c] as number;
	const k = b.x[c] as number;
	for (const insert of inserts) {
		if (insert.kind === 'run') {
			const run = scene.runs[c]![insert.runs[insert.runs.length - 1] as number]!;
			const some = insert.rests ? COSTS.restShare * (scene.tank_kg[c] as number) : 0;
			setLevel(b, c, some, USUAL.clinging_kg ** 2 + (run.flow_kg_s * 4) ** 2 + some * some);
			from = run.endMass_kg;
		} else if (insert.kind === 'told') {
			const told = scene.told[insert.told]!;
			takeOut(b, c, told.kg, told.variance);
			next.told |= 1 << insert.told;
		}
	}
	const dM = place.mass_kg - from;
	flowIn(b, c, dM, flowNoise(scene, dM, k));
	next.mass_kg[c] = place.mass_kg;
	next.time_s[c] = place.end_s;
	next.nextRun[c] = place.nextRun;
	next.last_s = Math.max(next.last_s, place.end_s);
}

function carryOutMixed(scene: Scene, next: Reading, choice: Choice, step: Step): void {
	let a = choice.combine;
	let b = choice.other;
	moveOn(scene, next, b, choice.otherPlace as Place, []);
	let slackA = (choice.place as Place).slack;
	let slackB = (choice.otherPlace as Place).slack;
	let restsA = choice.rests;
	let restsB = choice.otherRests;
	if (restsA && !restsB) {
		[a, b, slackA, slackB, restsA, restsB] = [b, a, slackB, slackA, restsB, restsA];
	}
	const scaleA = COSTS.restShare * (scene.tank_kg[a] as number);
	const scaleB = COSTS.restShare * (scene.tank_kg[b] as number);
	if (restsA) {
		const C = scene.flows.length;
		const left = Math.max(0, (next.belief.x[C + a] as number) + (next.belief.x[C + b] as number) - step.kg);
		const share = (left * scaleA) / (scaleA + scaleB);
		shareOut(next.belief, a, b, step.kg, step.u2, share, (0.6 * share + 150) ** 2);
		learnRest(next.belief, b, scaleB);
	} else {
		shareOut(next.belief, a, b, step.kg, step.u2, 0, slackA);
		if (restsB) learnRest(next.belief, b, scaleB);
		else learnLevel(next.belief, b, 0, slackB);
	}
}
