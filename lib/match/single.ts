import type { Effort } from './align.ts';
import { COSTS } from './costs.ts';
import { levelAt, overflow, weigh } from './levels.ts';
import { placesFor } from './places.ts';
import { type Choice, type Insert, type Offerer, type Place, plainChoice, type Reading } from './reading.ts';
import { twinCost } from './repeats.ts';
import { falseRuns } from './runs.ts';
import type { Scene, Table } from './scene.ts';
import type { Step } from './steps.ts';
import { type Before, UNKNOWN, unweighed } from './unweighed.ts';

/** Dump i as the weight of combine c alone. */
export function offerNormal(
	scene: Scene,
	table: Table,
	effort: Effort,
	i: number,
	c: number,
	which: number,
	reading: Reading,
	push: Offerer,
): void {
	const step = scene.steps[i] as Step;
	const twin = twinCost(scene, reading, step.dump, false);
	const leftOut = scene.wholeLoads ? loadOfOne(scene, table, effort, i, c, reading) : 0;
	for (const place of placesFor(scene, table, effort, i, c, reading)) {
		const { m, v } = levelAt(scene, reading, c, place.mass_kg);
		const here = which + place.cost + twin + leftOut;
		const make = (rests: boolean, inserts: Insert[]): Choice => ({
			...plainChoice(i, 'normal'),
			combine: c,
			rests,
			place,
			inserts,
		});
		const idle = here + falseRuns(scene, c, place.skipped, place.end_s);
		weigh(scene, step, c, m, v, place.slack, idle + overflow(scene, c, m, v, step.kg), (cost, rests) =>
			push(cost, make(rests, [])),
		);
		const weighs = (before: Before): void =>
			weigh(scene, step, c, before.m, before.v, place.slack, here + before.cost, (cost, rests) =>
				push(cost, make(rests, before.inserts)),
			);
		if (effort.whole) {
			for (const before of unweighed(scene, table, step, c, place, m, v, reading)) weighs(before);
			offerWrong(scene, step, c, place, m, v, idle, reading, make, push);
			push(idle + COSTS.stranger + Math.log(COSTS.strangerSpread_kg) + (step.pinned !== null ? COSTS.overruled : 0), {
				...make(false, []),
				kind: 'nonsense',
			});
		}
		// By nothing but the mass that is missing: the weight may be anything up to what the tank held in all.
		if (m - step.kg > 0.12 * step.kg) {
			const signal = effort.whole && scene.runs[c] ? scene.habits.augerMissed : 0;
			push(idle + COSTS.unweighed + signal + Math.log(m), make(false, [UNKNOWN]));
		}
	}
}

/** A weight that is wrong by just what the cart gave to the truck beyond its dumps. */
function offerWrong(
	scene: Scene,
	step: Step,
	c: number,
	place: Place,
	m: number,
	v: number,
	here: number,
	reading: Reading,
	make: (rests: boolean, inserts: Insert[]) => Choice,
	push: Offerer,
): void {
	for (let p = 0; p < scene.told.length; p++) {
		const told = scene.told[p]!;
		if (step.pinned !== null || reading.told & (scene.facts[p] as number) || told.kind !== 'unsaved' || told.twin >= 0)
			continue;
		if (step.time_s < told.from_s - 60 || step.time_s > told.to_s + 60) continue;
		const insert: Insert = { kind: 'told', told: p, runs: [], rests: false };
		// With the weight that it should have been.
		const right: Step = { ...step, kg: step.kg + told.kg, u2: step.u2 + told.variance };
		weigh(scene, right, c, m, v, place.slack, here + COSTS.wrong, (cost, rests) =>
			push(cost, { ...make(rests, [insert]), kind: 'nonsense' }),
		);
	}
}

/** A whole cart load holds everything since the one before: what the other combines' augers show speaks against it. */
function loadOfOne(scene: Scene, table: Table, effort: Effort, i: number, c: number, reading: Reading): number {
	const noted = scene.steps[i]!.noted;
	let cost: number = noted ? 0 : COSTS.loadOfOne;
	const t = table.time_s[i] as number;
	if (noted || !effort.whole || !Number.isFinite(t)) return cost;
	scene.runs.forEach((runs, other) => {
		if (other === c || !runs) return;
		for (let r = reading.nextRun[other] as number; r < runs.length && runs[r]!.end_s < t; r++) {
			if (runs[r]!.end_s - runs[r]!.start_s > 20) cost += COSTS.loadLeavesOut;
		}
	});
	return cost;
}
