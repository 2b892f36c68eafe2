import { COSTS, USUAL } from './costs.ts';
import { flowAround, massAt, timeOfMass } from './mass.ts';
import { lnPhi, normalCost, restCost } from './normal.ts';
import type { Choice, Ending, Insert, Place, Reading } from './reading.ts';
import { evidence, type Scene, type Table } from './scene.ts';
import { copyBelief, flowIn, learnLevel, learnRatio, learnRest, setLevel, shareOut, takeOut } from './state.ts';
import type { Step } from './steps.ts';
import type { Told } from './told.ts';

/** How thoroughly to look. */
export interface Effort {
	/** Readings kept after each dump. */
	width: number;
	/** Follow the auger's runs one by one, told unloadings and mixed weights that nobody noted. */
	whole: boolean;
	/** How far the clock's offset itself may be off here, seconds (standard deviation). */
	clock_s: number;
}

/** Readings this much dearer than the best are dropped, nats. */
const HOPELESS = 30;

/**
 * Aligns dumps with logs for one offset of the clock: a beam over dumps in order of time. Every reading carries what
 * it makes one believe of factors and tank levels, so that its cost is how well weights, levels and times fit it.
 *
 * @returns readings of all dumps, cheapest first
 */
export function align(scene: Scene, table: Table, effort: Effort): Reading[] {
	let beam = beginnings(scene);
	for (let i = 0; i < scene.steps.length; i++) {
		const offers: Offer[] = [];
		const width = effort.width;
		for (const reading of beam) offer(scene, table, effort, i, reading, offers);
		offers.sort((a, b) => a.cost - b.cost);
		beam = pick(scene, offers, width);
	}
	const ended = beam.map((r) => finish(scene, table, r));
	return ended.sort((a, b) => a.cost - b.cost);
}

interface Offer {
	cost: number;
	parent: Reading;
	choice: Choice;
}

/** Every tank is empty at the start, or some are not. */
function beginnings(scene: Scene): Reading[] {
	const C = scene.flows.length;
	const D = 2 * C;
	const { habits } = scene;
	const list: Reading[] = [];
	const sets = C <= 4 ? 1 << C : 1;
	for (let set = 0; set < sets; set++) {
		const x = new Float64Array(D);
		const P = new Float64Array(D * D);
		let cost = 0;
		for (let c = 0; c < C; c++) {
			x[c] = habits.factor[c] as number;
			P[c * D + c] = (habits.u_factor[c] as number) ** 2;
			const l = C + c;
			P[l * D + l] = USUAL.clinging_kg ** 2;
			if (set & (1 << c)) {
				const some = COSTS.startShare * (scene.tank_kg[c] as number);
				x[l] = some;
				P[l * D + l] = some * some;
				cost += COSTS.startsWithGrain;
			}
		}
		const belief = { x, P };
		for (const r of habits.ratios) learnRatio(belief, r.a, r.b, r.ratio, r.u * r.u);
		list.push({
			cost,
			belief,
			mass_kg: new Float64Array(C),
			time_s: Float64Array.from(scene.flows, (f) => f.start_s - 3600),
			nextRun: new Int32Array(C),
			last_s: Number.NEGATIVE_INFINITY,
			told: 0,
			choice: null,
			parent: null,
			endings: [],
		});
	}
	return list;
}

/** The cheapest offers carried out, one for each state that the future can tell apart. */
function pick(scene: Scene, offers: Offer[], width: number): Reading[] {
	const list: Reading[] = [];
	const seen = new Set<string>();
	const best = offers[0]?.cost ?? 0;
	for (const o of offers) {
		if (list.length >= width || o.cost > best + HOPELESS) break;
		const reading = carryOut(scene, o);
		if (width > 8) {
			const key = stateKey(reading);
			if (seen.has(key)) continue;
			seen.add(key);
		}
		list.push(reading);
	}
	return list;
}

function stateKey(r: Reading): string {
	const C = r.mass_kg.length;
	let key = `${r.told}`;
	for (let c = 0; c < C; c++) {
		key += `|${r.nextRun[c]},${Math.round((r.mass_kg[c] as number) / 40)},${Math.round((r.belief.x[C + c] as number) / 60)},${Math.round((r.belief.x[c] as number) * 300)}`;
	}
	return key;
}

/** All that dump i may be after this reading. */
function offer(scene: Scene, table: Table, effort: Effort, i: number, reading: Reading, offers: Offer[]): void {
	const step = scene.steps[i] as Step;
	const base = reading.cost;
	const push = (cost: number, choice: Choice): void => {
		if (Number.isFinite(cost)) offers.push({ cost: base + cost, parent: reading, choice });
	};
	const odd = step.pinned !== null ? 20 : 0;
	const strange = COSTS.stranger + Math.log(COSTS.strangerSpread_kg) + odd;
	push(strange, plainChoice(i, 'stranger'));
	offerRepeat(scene, step, i, reading, odd, push);
	if (step.mixed.length === 0) {
		const which = Math.log(step.combines.length);
		for (const c of step.combines) offerNormal(scene, table, effort, i, c, which, reading, push);
	}
	offerMixed(scene, table, effort, i, reading, push);
}

type Push = (cost: number, choice: Choice) => void;

function plainChoice(step: number, kind: Choice['kind']): Choice {
	return {
		step,
		kind,
		combine: -1,
		other: -1,
		rests: false,
		otherRests: false,
		place: null,
		otherPlace: null,
		insert: null,
		of: -1,
	};
}

/** The same weight saved once more. */
function offerRepeat(scene: Scene, step: Step, i: number, reading: Reading, odd: number, push: Push): void {
	let looked = 0;
	for (let r: Reading | null = reading; r?.choice && looked < 3; r = r.parent, looked++) {
		const first = scene.steps[r.choice.step] as Step;
		if (r.choice.kind === 'repeat' || r.choice.kind === 'stranger') continue;
		const apart = step.time_s - first.time_s;
		const timed = Number.isFinite(apart);
		if (timed ? apart > 900 : looked > 0) continue;
		const d = step.kg - first.kg;
		if (Math.abs(d) > 0.01 * first.kg + 20) continue;
		if (step.noted && first.noted && !sameCombines(step, first)) continue;
		let cost: number = COSTS.repeated + odd;
		cost += normalCost(d, 12 * 12 + (0.002 * first.kg) ** 2);
		// Against dumps that come at any time, once in ten minutes or so.
		cost += timed ? apart / COSTS.repeatedWithin_s + Math.log(COSTS.repeatedWithin_s / 600) : 0;
		if (scene.repeated.has(step.dump)) cost -= 3;
		if (scene.balanced.has(step.dump)) cost += COSTS.levelDenied;
		cost += twinCost(scene, reading, step.dump, true);
		push(cost, { ...plainChoice(i, 'repeat'), combine: r.choice.combine, other: r.choice.other, of: r.choice.step });
	}
}

/** What the tellings already taken up say against this dump being saved twice, or against its not being so. */
function twinCost(scene: Scene, reading: Reading, dump: number, twice: boolean): number {
	let cost = 0;
	for (let p = 0; p < scene.told.length; p++) {
		if (!(reading.told & (1 << p))) continue;
		const told = scene.told[p]!;
		if (told.twins.includes(dump) && (told.twin === dump) !== twice) cost += COSTS.levelDenied;
	}
	return cost;
}

/** The same for a telling that is taken up after the dumps it speaks of. */
function tellingCost(scene: Scene, reading: Reading, told: Told): number {
	let cost = 0;
	if (told.twins.length === 0) return 0;
	for (let r: Reading | null = reading; r?.choice; r = r.parent) {
		const dump = scene.steps[r.choice.step]!.dump;
		if (!told.twins.includes(dump)) continue;
		if ((told.twin === dump) !== (r.choice.kind === 'repeat')) cost += COSTS.levelDenied;
	}
	return cost;
}

function sameCombines(a: Step, b: Step): boolean {
	const x = a.mixed.length > 0 ? a.mixed : a.combines;
	const y = b.mixed.length > 0 ? b.mixed : b.combines;
	return x.length === y.length && x.every((c) => y.includes(c));
}

/** Mean and variance of tank c's level when its monitor has come to `mass_kg`. */
function levelAt(scene: Scene, reading: Reading, c: number, mass_kg: number): { m: number; v: number } {
	const { x, P } = reading.belief;
	const D = x.length;
	const l = D / 2 + c;
	const dM = mass_kg - (reading.mass_kg[c] as number);
	const noise = flowNoise(scene, dM, x[c] as number);
	const v = (P[l * D + l] as number) + 2 * dM * (P[c * D + l] as number) + dM * dM * (P[c * D + c] as number) + noise;
	return { m: (x[l] as number) + (x[c] as number) * dM, v };
}

/** Variance of what the monitor gets wrong over a stretch: relative over one fill, averaging out over several. */
function flowNoise(scene: Scene, dM: number, k: number): number {
	const one = scene.fill_kg;
	return (scene.habits.fill * k) ** 2 * Math.abs(dM) * Math.max(0.2 * one, Math.min(Math.abs(dM), one));
}

function overflow(scene: Scene, c: number, m: number, v: number, dump_kg: number): number {
	// A whole load holds several tanks.
	if (scene.wholeLoads) return 0;
	// While the auger runs grain keeps coming; and what a dump weighed was in the tank, whatever is said of its size.
	const tank = 1.12 * (scene.tank_kg[c] as number) + 300;
	const coming = (scene.usualFlow_kg_s[c] as number) * (dump_kg / (0.7 * USUAL.unloading_kg_s));
	const most = Math.max(tank + coming, 1.05 * dump_kg + 300);
	return -lnPhi((most - m) / Math.sqrt(v + 40_000));
}

/** Places at which combine c may have been unloaded for dump i. */
function placesFor(scene: Scene, table: Table, effort: Effort, i: number, c: number, reading: Reading): Place[] {
	const step = scene.steps[i] as Step;
	const f = scene.flows[c]!;
	const runs = effort.whole ? (scene.runs[c] ?? null) : null;
	const list: Place[] = [];
	const first = reading.nextRun[c] as number;
	const t = table.time_s[i] as number;
	const sigma = Math.hypot(step.sigma_s, effort.clock_s, scene.habits.delay_s);
	const C = scene.flows.length;
	const clinging = USUAL.clinging_kg ** 2;
	if (Number.isFinite(t)) {
		if (t > (reading.time_s[c] as number) + 10) {
			const skipped: number[] = [];
			let next = first;
			let inside = false;
			if (runs) {
				while (next < runs.length && runs[next]!.end_s <= t) skipped.push(next++);
				const on = runs[next];
				inside = on !== undefined && on.start_s < t && on.end_s - on.start_s > 240;
			}
			list.push({
				end_s: t,
				mass_kg: table.mass_kg[i * C + c] as number,
				slack: clinging + ((table.flow_kg_s[i * C + c] as number) * sigma) ** 2,
				run: -1,
				nextRun: next,
				cost: (table.evidence[i * C + c] as number) + (runs ? (inside ? 2 : scene.habits.augerMissed) : 0),
				skipped,
			});
		}
		if (runs) {
			const reach = 4 * sigma + 30;
			for (let r = first; r < runs.length && runs[r]!.end_s <= t + reach; r++) {
				const run = runs[r]!;
				if (run.end_s < t - reach || run.end_s < reading.last_s - 45) continue;
				const d = run.end_s - t;
				const density = (0.97 * Math.exp((-d * d) / (2 * sigma * sigma))) / (Math.sqrt(2 * Math.PI) * sigma);
				list.push({
					end_s: run.end_s,
					mass_kg: run.endMass_kg,
					slack: clinging + (run.flow_kg_s * 4) ** 2,
					run: r,
					nextRun: r + 1,
					cost: (table.evidence[i * C + c] as number) - Math.log(density * 900 + 0.03) + shortRun(run, step),
					skipped: range(first, r),
				});
			}
		}
		return list;
	}
	// Only the order is known: runs of the auger one after the other, and the moment at which the tank held so much.
	const from = Math.max(reading.last_s, step.from_s + table.offset_s, (reading.time_s[c] as number) + 10);
	const to = step.to_s + table.offset_s + 60;
	if (runs) {
		for (let r = first, tried = 0; r < runs.length && tried < 5; r++) {
			const run = runs[r]!;
			if (run.end_s < from - 30) continue;
			if (run.end_s > to) break;
			tried++;
			list.push({
				end_s: run.end_s,
				mass_kg: run.endMass_kg,
				slack: clinging + (run.flow_kg_s * 4) ** 2,
				run: r,
				nextRun: r + 1,
				cost: evidence(scene, c, step, run.end_s, false) + shortRun(run, step),
				skipped: range(first, r),
			});
		}
	}
	const { x } = reading.belief;
	const dM = (step.kg - (x[C + c] as number)) / (x[c] as number);
	const begin = Number.isFinite(from) ? Math.max(f.start_s, from) : f.start_s;
	const end_s = Math.min(Math.max(begin, timeOfMass(f, (reading.mass_kg[c] as number) + Math.max(0, dM))), to);
	const skipped: number[] = [];
	let next = first;
	if (runs) while (next < runs.length && runs[next]!.end_s <= end_s) skipped.push(next++);
	list.push({
		end_s,
		mass_kg: massAt(f, end_s),
		slack: clinging + (0.1 * step.kg) ** 2,
		run: -1,
		nextRun: next,
		cost: evidence(scene, c, step, end_s, false) + (runs ? scene.habits.augerMissed : 0),
		skipped,
	});
	return list;
}

/** A run much shorter than the weight takes to unload is a bounce of the switch, or a signal that failed midway. */
function shortRun(run: { start_s: number; end_s: number }, step: Step): number {
	const needs = step.kg / USUAL.unloading_kg_s;
	return run.end_s - run.start_s < 0.3 * needs ? 1.5 : 0;
}

function range(from: number, to: number): number[] {
	const list: number[] = [];
	for (let k = from; k < to; k++) list.push(k);
	return list;
}

/** Cost of runs that no unloading stands for; `again_s` is the end of an unloading to whose weight they may belong. */
function falseRuns(scene: Scene, c: number, skipped: readonly number[], again_s: number, except: number): number {
	let cost = 0;
	for (const r of skipped) if (r !== except) cost += falseRun(scene, c, r, again_s);
	return cost;
}

function falseRun(scene: Scene, c: number, r: number, again_s: number): number {
	const run = scene.runs[c]![r]!;
	const lasts = run.end_s - run.start_s;
	let cost: number = lasts < 20 ? Math.min(COSTS.augerBlip, scene.habits.augerFalse) : scene.habits.augerFalse;
	// A switch that sticks is no unloading.
	if (lasts > 420) cost = Math.min(cost, 2);
	if (scene.wholeLoads) cost = Math.min(cost, COSTS.loadAgain);
	if (Math.abs(again_s - run.end_s) < 150) cost = Math.min(cost, COSTS.augerAgain);
	return cost;
}

function offerNormal(
	scene: Scene,
	table: Table,
	effort: Effort,
	i: number,
	c: number,
	which: number,
	reading: Reading,
	push: Push,
): void {
	const step = scene.steps[i] as Step;
	const twin = twinCost(scene, reading, step.dump, false);
	for (const place of placesFor(scene, table, effort, i, c, reading)) {
		const { m, v } = levelAt(scene, reading, c, place.mass_kg);
		const here = which + place.cost + twin;
		const idle = falseRuns(scene, c, place.skipped, place.end_s, -1);
		const make = (rests: boolean, insert: Insert | null): Choice => ({
			...plainChoice(i, 'normal'),
			combine: c,
			rests,
			place,
			insert,
		});
		weigh(scene, step, c, m, v, place.slack, here + idle + overflow(scene, c, m, v, step.kg), (cost, rests) =>
			push(cost, make(rests, null)),
		);
		offerUnweighed(scene, table, effort, step, c, place, m, v, here, idle, reading, make, push);
		if (effort.whole) {
			offerWrong(scene, step, c, place, m, v, here + idle, reading, make, push);
			push(here + idle + COSTS.stranger + Math.log(COSTS.strangerSpread_kg) + (step.pinned !== null ? 20 : 0), {
				...make(false, null),
				kind: 'nonsense',
			});
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
	make: (rests: boolean, insert: Insert | null) => Choice,
	push: Push,
): void {
	for (let p = 0; p < scene.told.length; p++) {
		const told = scene.told[p]!;
		if (reading.told & (scene.facts[p] as number) || told.kind !== 'unsaved' || told.twin >= 0) continue;
		if (step.time_s < told.from_s - 60 || step.time_s > told.to_s + 60) continue;
		const insert: Insert = { kind: 'told', told: p, runs: [], rests: false };
		// With the weight that it should have been.
		const right: Step = { ...step, kg: step.kg + told.kg, u2: step.u2 + told.variance };
		weigh(scene, right, c, m, v, place.slack, here + COSTS.wrong, (cost, rests) =>
			push(cost, { ...make(rests, insert), kind: 'nonsense' }),
		);
	}
}

/** The tank held N(m, v) and gave this weight: it is empty now, or keeps a rest. */
function weigh(
	scene: Scene,
	step: Step,
	c: number,
	m: number,
	v: number,
	slack: number,
	base: number,
	push: (cost: number, rests: boolean) => void,
): void {
	const left = m - step.kg;
	const spread = v + step.u2;
	const p = scene.habits.emptied;
	const empty = step.emptied === 1 ? 0.02 : step.emptied === 0 ? COSTS.notedWrong : -Math.log(p);
	const kept = step.emptied === 0 ? 0.02 : step.emptied === 1 ? COSTS.notedWrong : -Math.log(1 - p);
	push(base + empty + normalCost(left, spread + slack), false);
	push(base + kept + restCost(left, spread, COSTS.restShare * (scene.tank_kg[c] as number)), true);
}

/** Grain left the tank unweighed since its previous unloading. */
function offerUnweighed(
	scene: Scene,
	table: Table,
	effort: Effort,
	step: Step,
	c: number,
	place: Place,
	m: number,
	v: number,
	here: number,
	idle: number,
	reading: Reading,
	make: (rests: boolean, insert: Insert | null) => Choice,
	push: Push,
): void {
	const runs = scene.runs[c];
	const signal = effort.whole && runs !== null && runs !== undefined;
	// By a run of the auger: the tank is taken to be emptied by it.
	if (signal) {
		for (const r of place.skipped.slice(-5)) {
			const run = runs[r]!;
			if (run.end_s - run.start_s < 15 || place.end_s - run.end_s < 30) continue;
			const { x, P } = reading.belief;
			const dM = place.mass_kg - run.endMass_kg;
			const k = x[c] as number;
			const D = x.length;
			const level = levelAt(scene, reading, c, run.endMass_kg);
			const after = USUAL.clinging_kg ** 2 + (run.flow_kg_s * 4) ** 2;
			const v2 = dM * dM * (P[c * D + c] as number) + flowNoise(scene, dM, k) + after;
			const cost =
				here +
				idle -
				falseRun(scene, c, r, place.end_s) +
				COSTS.unweighed +
				overflow(scene, c, level.m, level.v, scene.fill_kg) -
				// There must have been something to unload.
				lnPhi((level.m - 300) / Math.sqrt(level.v + 10_000));
			const p = scene.habits.emptied;
			const some = COSTS.restShare * (scene.tank_kg[c] as number);
			const gone: Insert = { kind: 'run', told: -1, runs: [r], rests: false };
			weigh(scene, step, c, k * dM, v2, place.slack, cost - Math.log(p), (w, rests) => push(w, make(rests, gone)));
			const kept: Insert = { ...gone, rests: true };
			weigh(scene, step, c, k * dM + some, v2 + some * some, place.slack, cost - Math.log(1 - p), (w, rests) =>
				push(w, make(rests, kept)),
			);
		}
	}
	// By what the cart's level or a ticket tells: as much is gone, whenever that was.
	if (effort.whole) {
		for (let p = 0; p < scene.told.length; p++) {
			if (reading.told & (scene.facts[p] as number)) continue;
			const told = scene.told[p]!;
			if (told.combine >= 0 && told.combine !== c) continue;
			if (m < told.kg * 0.9) continue;
			if (!couldBe(told, table.offset_s, reading.time_s[c] as number, place.end_s)) continue;
			const small = told.kg < 0.4 * scene.fill_kg ? COSTS.smallUnloading : 0;
			const base =
				here +
				small +
				tellingCost(scene, reading, told) +
				COSTS.unweighedTold +
				(told.combine < 0 ? Math.log(scene.flows.length) : 0);
			const rest = m - told.kg;
			const v2 = v + told.variance;
			const offerTold = (cost: number, runs: number[]): void =>
				weigh(scene, step, c, rest, v2, place.slack, cost + overflow(scene, c, rest, v2, step.kg), (w, rests) =>
					push(w, make(rests, { kind: 'told', told: p, runs, rests: false })),
				);
			offerTold(base + (signal ? idle + scene.habits.augerMissed : 0), []);
			const run = signal ? likeliestRun(scene, reading, c, told, table.offset_s, place.skipped) : null;
			if (run) offerTold(base + run.cost + falseRuns(scene, c, place.skipped, place.end_s, run.run), [run.run]);
		}
	}
	// By nothing but the mass that is missing: the weight may be anything up to what the tank held in all.
	const more = m - step.kg;
	if (more > 0.12 * step.kg) {
		const cost =
			here + idle + COSTS.unweighed + (signal ? scene.habits.augerMissed : 0) + Math.log(Math.max(m, step.kg));
		push(cost, make(false, { kind: 'unknown', told: -1, runs: [], rests: false }));
	}
}

/** May the telling be of an unloading between these log times? */
function couldBe(told: Told, offset_s: number, after_s: number, before_s: number): boolean {
	const within = (shift: number): boolean => told.from_s + shift <= before_s + 60 && told.to_s + shift >= after_s - 60;
	// A certified scale keeps its own time, which is usually right; the cart's is off by the offset.
	return within(offset_s) || (told.kind === 'straight' && (within(900) || within(-900)));
}

/**
 * The run by which a known weight left the tank, and its cost against an unloading at any moment: likeliest where the
 * tank held just that; with more in it a rest stayed. null without any run.
 */
function likeliestRun(
	scene: Scene,
	reading: Reading,
	c: number,
	told: Told,
	offset_s: number,
	skipped: readonly number[],
): { run: number; cost: number } | null {
	const runs = scene.runs[c] ?? [];
	const p = scene.habits.emptied;
	const some = COSTS.restShare * (scene.tank_kg[c] as number);
	let best: { run: number; cost: number } | null = null;
	for (const r of skipped) {
		const run = runs[r]!;
		const lasts = run.end_s - run.start_s;
		if (lasts < 15 || !couldBe(told, offset_s, run.end_s, run.end_s)) continue;
		const { m, v } = levelAt(scene, reading, c, run.endMass_kg);
		const d = m - told.kg;
		const spread = v + told.variance + USUAL.clinging_kg ** 2;
		const gone = normalCost(d, spread) - Math.log(p);
		const kept = restCost(d, spread, some) - Math.log(1 - p);
		const short = lasts < (0.4 * told.kg) / USUAL.unloading_kg_s ? 1.5 : 0;
		const cost = Math.min(gone, kept) + short - Math.log(scene.fill_kg);
		if (!best || cost < best.cost) best = { run: r, cost };
	}
	return best;
}

/** One weight of two combines. */
function offerMixed(scene: Scene, table: Table, effort: Effort, i: number, reading: Reading, push: Push): void {
	const step = scene.steps[i] as Step;
	const C = scene.flows.length;
	const noted = step.mixed.length > 1;
	if (!noted && (!effort.whole || step.noted || C < 2)) return;
	const pairs: [number, number][] = [];
	if (noted) pairs.push([step.mixed[0] as number, step.mixed[1] as number]);
	else for (let a = 0; a < C; a++) for (let b = a + 1; b < C; b++) pairs.push([a, b]);
	const which = noted ? 0 : scene.mixedCost + Math.log(pairs.length);
	for (const [a, b] of pairs) {
		const placeA = mixedPlace(scene, table, effort, i, a, reading);
		const placeB = mixedPlace(scene, table, effort, i, b, reading);
		if (!placeA || !placeB) continue;
		const A = levelAt(scene, reading, a, placeA.mass_kg);
		const B = levelAt(scene, reading, b, placeB.mass_kg);
		// A weight of two is told from a weight of one only where both tanks gave something.
		if (!noted && (A.m < 0.08 * step.kg || B.m < 0.08 * step.kg)) continue;
		const { P } = reading.belief;
		const D = 2 * C;
		const dA = placeA.mass_kg - (reading.mass_kg[a] as number);
		const dB = placeB.mass_kg - (reading.mass_kg[b] as number);
		const cov =
			(P[(C + a) * D + C + b] as number) +
			dA * (P[a * D + C + b] as number) +
			dB * (P[b * D + C + a] as number) +
			dA * dB * (P[a * D + b] as number);
		const left = A.m + B.m - step.kg;
		const v = Math.max(100, A.v + B.v + 2 * cov + step.u2);
		const base = which + placeA.cost + placeB.cost;
		const p = Math.min(0.98, Math.max(0.02, scene.habits.emptied));
		const empty = step.emptied === 1 ? 0.02 : step.emptied === 0 ? COSTS.notedWrong : -2 * Math.log(p);
		const one = step.emptied === 1 ? COSTS.notedWrong : -Math.log(p * (1 - p));
		const both = step.emptied === 1 ? COSTS.notedWrong : -2 * Math.log(1 - p);
		const scaleA = COSTS.restShare * (scene.tank_kg[a] as number);
		const scaleB = COSTS.restShare * (scene.tank_kg[b] as number);
		const make = (rests: boolean, otherRests: boolean): Choice => ({
			...plainChoice(i, 'mixed'),
			combine: a,
			other: b,
			rests,
			otherRests,
			place: placeA,
			otherPlace: placeB,
		});
		push(base + empty + normalCost(left, v + placeA.slack + placeB.slack), make(false, false));
		push(base + one + restCost(left, v + placeB.slack, scaleA), make(true, false));
		push(base + one + restCost(left, v + placeA.slack, scaleB), make(false, true));
		// Both keep something: as one rest of the two, which is what the weight tells.
		push(base + both + restCost(left, v, scaleA + scaleB), make(true, true));
	}
}

/** The latest unloading of combine c that a mixed weight can hold: its last run of the auger, or shortly before. */
function mixedPlace(scene: Scene, table: Table, effort: Effort, i: number, c: number, reading: Reading): Place | null {
	const step = scene.steps[i] as Step;
	const f = scene.flows[c]!;
	const runs = effort.whole ? (scene.runs[c] ?? null) : null;
	const t = table.time_s[i] as number;
	if (!Number.isFinite(t)) {
		// No time: half of the weight from each, by order alone; the sums are what such weights tell.
		const share = step.kg / 2 / (reading.belief.x[c] as number);
		const end_s = Math.max(reading.time_s[c] as number, timeOfMass(f, (reading.mass_kg[c] as number) + share));
		return {
			end_s,
			mass_kg: massAt(f, end_s),
			slack: (0.25 * step.kg) ** 2,
			run: -1,
			nextRun: reading.nextRun[c] as number,
			cost: 0,
			skipped: [],
		};
	}
	const clinging = USUAL.clinging_kg ** 2;
	const first = reading.nextRun[c] as number;
	let next = first;
	if (runs) while (next < runs.length && runs[next]!.end_s <= t + 45) next++;
	const run = runs && next > first ? runs[next - 1] : undefined;
	if (run && t - run.end_s < 1800) {
		return {
			end_s: run.end_s,
			mass_kg: run.endMass_kg,
			slack: clinging + (run.flow_kg_s * 4) ** 2,
			run: next - 1,
			nextRun: next,
			// Earlier runs are part of the same weight.
			cost: 0.3 * Math.max(0, next - 1 - first),
			skipped: [],
		};
	}
	// The cart came to it some minutes before the weight was taken, and nothing tells to which one last.
	const [before, spread] = scene.wholeLoads ? [150, 200] : [60, 90];
	const end_s = t - before;
	if (end_s < (reading.time_s[c] as number)) return null;
	return {
		end_s,
		mass_kg: massAt(f, end_s),
		slack: clinging + (flowAround(f, end_s, 120) * Math.hypot(spread, step.sigma_s)) ** 2,
		run: -1,
		nextRun: next,
		cost: runs ? scene.habits.augerMissed : 0,
		skipped: [],
	};
}

/** The reading that an offer leads to. */
function carryOut(scene: Scene, o: Offer): Reading {
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
		endings: [],
	};
	if (choice.kind === 'repeat' || choice.kind === 'stranger' || !choice.place) return next;
	const step = scene.steps[choice.step] as Step;
	next.belief = copyBelief(parent.belief);
	next.mass_kg = parent.mass_kg.slice();
	next.time_s = parent.time_s.slice();
	next.nextRun = parent.nextRun.slice();
	moveOn(scene, next, choice.combine, choice.place, choice.insert);
	const c = choice.combine;
	if (choice.kind === 'nonsense' && (!choice.rests || !choice.insert)) {
		setLevel(next.belief, c, 0, choice.place.slack);
		return next;
	}
	if (choice.kind === 'mixed' && choice.otherPlace) {
		carryOutMixed(scene, next, choice, step);
		return next;
	}
	if (choice.insert?.kind === 'unknown') {
		setLevel(next.belief, c, 0, choice.place.slack);
		return next;
	}
	takeOut(next.belief, c, step.kg, step.u2);
	if (choice.rests) learnRest(next.belief, c, COSTS.restShare * (scene.tank_kg[c] as number));
	else learnLevel(next.belief, c, 0, choice.place.slack);
	return next;
}

/** Lets combine c's grain flow in up to the place, what left it unweighed taken out on the way. */
function moveOn(scene: Scene, next: Reading, c: number, place: Place, insert: Insert | null): void {
	const b = next.belief;
	const from = next.mass_kg[c] as number;
	const k = b.x[c] as number;
	if (insert?.kind === 'run') {
		const run = scene.runs[c]![insert.runs[insert.runs.length - 1] as number]!;
		const some = insert.rests ? COSTS.restShare * (scene.tank_kg[c] as number) : 0;
		setLevel(b, c, some, USUAL.clinging_kg ** 2 + (run.flow_kg_s * 4) ** 2 + some * some);
		const dM = place.mass_kg - run.endMass_kg;
		flowIn(b, c, dM, flowNoise(scene, dM, k));
	} else {
		const dM = place.mass_kg - from;
		flowIn(b, c, dM, flowNoise(scene, dM, k));
		if (insert?.kind === 'told') {
			const told = scene.told[insert.told]!;
			takeOut(b, c, told.kg, told.variance);
			next.told |= 1 << insert.told;
		}
	}
	next.mass_kg[c] = place.mass_kg;
	next.time_s[c] = place.end_s;
	next.nextRun[c] = place.nextRun;
	next.last_s = Math.max(next.last_s, place.end_s);
}

function carryOutMixed(scene: Scene, next: Reading, choice: Choice, step: Step): void {
	let a = choice.combine;
	let b = choice.other;
	moveOn(scene, next, b, choice.otherPlace as Place, null);
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

/** What is left after the last dump: grain in the tanks, runs of the auger and tellings that found no place. */
function finish(scene: Scene, table: Table, reading: Reading): Reading {
	const ended: Reading = { ...reading, endings: [] };
	for (let c = 0; c < scene.flows.length; c++) {
		const f = scene.flows[c]!;
		let { m, v } = levelAt(scene, ended, c, f.total_kg);
		const inserts: Insert[] = [];
		const runs = scene.runs[c] ?? [];
		const left = range(ended.nextRun[c] as number, runs.length);
		for (let p = 0; p < scene.told.length; p++) {
			const told = scene.told[p]!;
			if (ended.told & (scene.facts[p] as number) || (told.combine >= 0 && told.combine !== c) || m < told.kg * 0.9)
				continue;
			if (!couldBe(told, table.offset_s, ended.time_s[c] as number, Number.POSITIVE_INFINITY)) continue;
			const found = likeliestRun(scene, ended, c, told, table.offset_s, left);
			const r = found && found.cost < scene.habits.augerMissed ? found.run : -1;
			if (r >= 0) left.splice(left.indexOf(r), 1);
			ended.told |= 1 << p;
			ended.cost +=
				tellingCost(scene, reading, told) + COSTS.unweighedTold + (told.combine < 0 ? Math.log(scene.flows.length) : 0);
			inserts.push({ kind: 'told', told: p, runs: r >= 0 ? [r] : [], rests: false });
			m -= told.kg;
			v += told.variance;
		}
		const some = 0.3 * scene.fill_kg;
		for (const r of left) {
			const run = runs[r]!;
			const held = m - (ended.belief.x[c] as number) * (f.total_kg - run.endMass_kg);
			const unweighed = held > some && run.end_s - run.start_s > 20;
			if (unweighed && COSTS.unweighed < falseRun(scene, c, r, ended.time_s[c] as number) + over(scene, c, m, v)) {
				inserts.push({ kind: 'run', told: -1, runs: [r], rests: false });
				ended.cost += COSTS.unweighed;
				m -= held;
			} else ended.cost += falseRun(scene, c, r, ended.time_s[c] as number);
		}
		const cost = over(scene, c, m, v);
		if (cost > COSTS.unweighed) {
			inserts.push({ kind: 'unknown', told: -1, runs: [], rests: false });
			ended.cost += COSTS.unweighed;
		} else {
			ended.cost += cost;
		}
		ended.endings.push({ combine: c, level_kg: m, inserts } satisfies Ending);
	}
	const facts = new Set<number>();
	const placed = new Set<number>();
	scene.told.forEach((told, p) => {
		for (const fact of told.facts) (ended.told & (1 << p) ? placed : facts).add(fact);
	});
	for (const fact of facts) if (!placed.has(fact)) ended.cost += COSTS.untold;
	return ended;
}

/** Grain that stays in a tank at the log's end: none is usual, less than nothing impossible, more than it holds too. */
function over(scene: Scene, c: number, m: number, v: number): number {
	const stays = m > 0.3 * scene.fill_kg ? COSTS.endsWithGrain : 0;
	return stays + overflow(scene, c, m, v, 0) - lnPhi((m + 100) / Math.sqrt(v + 10_000));
}
