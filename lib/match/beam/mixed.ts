import { TANK } from '../../model/index.ts';
import { COSTS } from '../problem/costs.ts';
import type { Insert, Place } from './hypothesis.ts';
import { normalCost, restCost } from './normal.ts';
import { mixedPlace } from './places.ts';
import type { Step } from './step.ts';
import { levelAt, levelsTogether } from './tank-levels.ts';
import { UNKNOWN } from './unweighed.ts';

/** Offers a dump as one weight of several combines: the noted ones, or any two or more. */
export function offerMixed(step: Step): void {
	const { problem, effort, observation } = step;
	const noted = observation.mixed.length > 1;
	if (noted) {
		offerSet(step, observation.mixed, 0);
		return;
	}
	if (!(effort.whole || problem.wholeLoads)) return;
	for (const set of setsOf(problem.flows.length)) {
		// The note may name but one of them.
		if (observation.noted && !observation.combines.some((c) => set.combines.includes(c))) continue;
		const which = problem.mixedCost * (set.combines.length - 1) + Math.log(set.ofThisSize);
		offerSet(step, set.combines, which);
	}
}

interface CombineSet {
	combines: number[];
	/** Number of sets of the same size. */
	ofThisSize: number;
}

/** With more combines than this, a mixed weight without a note is of two at most. */
const MOST = 4;
const known = new Map<number, CombineSet[]>();

/** All sets of two or more combines, pairs first. */
function setsOf(combines: number): CombineSet[] {
	let sets = known.get(combines);
	if (sets) return sets;
	const lists: number[][] = [];
	const grow = (list: number[], from: number): void => {
		if (list.length > 1) lists.push(list);
		if (list.length < (combines > MOST ? 2 : combines)) for (let c = from; c < combines; c++) grow([...list, c], c + 1);
	};
	grow([], 0);
	lists.sort((a, b) => a.length - b.length);
	sets = lists.map((list) => ({
		combines: list,
		ofThisSize: lists.filter((l) => l.length === list.length).length,
	}));
	known.set(combines, sets);
	return sets;
}

function offerSet(step: Step, combines: readonly number[], which: number): void {
	const { problem, observation, hypothesis, offers } = step;
	if (!offers.wants(which)) return;
	const places: Place[] = [];
	let base = which;
	let held = 0;
	let v = observation.u2;
	let slack = 0;
	let tanks_kg = 0;
	for (const c of combines) {
		const place = mixedPlace(step, c, combines.length);
		if (!place) return;
		const level = levelAt(problem, hypothesis, c, place.mass_kg);
		for (let n = 0; n < places.length; n++) {
			v += 2 * levelsTogether(hypothesis, combines[n] as number, places[n]!.mass_kg, c, place.mass_kg);
		}
		places.push(place);
		base += place.cost;
		held += level.m;
		v += level.v;
		slack += place.slack;
		tanks_kg += problem.tank_kg[c] as number;
	}
	base += whenTaken(step, places);
	v = Math.max(100, v);
	const left = held - observation.kg;
	const p = TANK.emptied;
	const wrong = observation.emptied === 1 ? COSTS.notedWrong : null;
	const empty = observation.emptied === 0 ? COSTS.notedWrong : wrong ? 0.02 : -combines.length * Math.log(p);
	const set: TankSet = { step, combines, places };
	add(set, base + empty + normalCost(left, v + slack), false);
	// Grain left in all tanks: only its sum is observed.
	const all = wrong ?? -combines.length * Math.log(1 - p);
	add(set, base + all + restCost(left, v, TANK.restShare * tanks_kg), true);
	// After unloadings without a weight, the weight may be anything that the tanks hold.
	if (left > 0.12 * observation.kg) {
		add(set, base + problem.priors.unweighed + Math.log(Math.min(held, tanks_kg)), false, [UNKNOWN]);
	}
}

/** Tanks of one weight, and where they were unloaded. */
interface TankSet {
	step: Step;
	combines: readonly number[];
	places: readonly Place[];
}

const NO_INSERTS: readonly Insert[] = [];

function add({ step, combines, places }: TankSet, cost: number, rests: boolean, inserts = NO_INSERTS): void {
	const { offers, i } = step;
	if (!offers.wants(cost)) return;
	const parts = combines.map((combine, n) => ({
		combine,
		place: places[n] as Place,
		rests,
	}));
	offers.add(cost, { observation: i, kind: 'mixed', parts, inserts, of: -1 });
}

/** Cost of the time of a mixed weight: usually at the end of its last unloading, else within the half hour after it. */
function whenTaken({ table, effort, i, observation }: Step, places: readonly Place[]): number {
	const t = table.time_s[i] as number;
	let last_s = -Infinity;
	for (const place of places) if (place.run >= 0) last_s = Math.max(last_s, place.end_s);
	if (!Number.isFinite(t - last_s)) return 0;
	const v = observation.sigma_s ** 2 + effort.clock_s ** 2;
	const density = Math.exp(-((t - last_s) ** 2) / (2 * v)) / Math.sqrt(2 * Math.PI * v);
	return -Math.log(450 * density + 0.25);
}
