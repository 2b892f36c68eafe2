import type { Records } from '../model/index.ts';
import { COSTS, USUAL } from './costs.ts';
import { flowAround, massAt, recordsUntil, timeOfMass } from './mass.ts';
import type { Choice, Insert, Place, Reading } from './reading.ts';
import { choicesOf } from './reading.ts';
import type { Scene } from './scene.ts';
import { weight } from './words.ts';

/** One emptying of a tank as a reading has it; masses are the monitor's, kg. */
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
	/** Flow at its end: grain that keeps coming. */
	flow_kg_s: number;
	/** The choice that made it, null for what no dump row stands for. */
	choice: Choice | null;
	/** Index into Scene.told, −1. */
	told: number;
	unweighed: string | null;
	/** Before any weight is looked at: what it leaves in the tank, mean and standard uncertainty. */
	prior_kg: number;
	u_prior_kg: number;
	/** Grain that came or did not come while the end is uncertain: flow × its uncertainty. */
	u_flow_kg: number;
	/** The reading takes the tank to keep a rest. */
	rests: boolean;
	/** Its end is where the mass says, not where a signal or the clock does. */
	loose: boolean;
}

/** A fill cut and never unloaded is listed when it is more than this share of a usual one. */
const LEFT_SHARE = 0.35;

/** Every emptying of every tank by a reading: by combine, then in time order. */
export function emptyings(scene: Scene, records: Records, reading: Reading): Emptying[] {
	const choices = choicesOf(reading);
	const list: Emptying[] = [];
	for (let c = 0; c < scene.flows.length; c++) {
		const own: Emptying[] = [];
		let last = 0;
		let lastTime = scene.flows[c]!.start_s;
		for (const choice of choices) {
			if (choice.kind === 'repeat' || choice.kind === 'stranger') continue;
			const place = choice.combine === c ? choice.place : choice.other === c ? choice.otherPlace : null;
			if (!place) continue;
			if (choice.combine === c && choice.kind !== 'nonsense') {
				choice.inserts.forEach((insert, n) => {
					const final = n === choice.inserts.length - 1;
					const more = inserted(scene, c, insert, last, lastTime, place, choice, final);
					own.push(...more);
					last = more[more.length - 1]?.mass_kg ?? last;
					lastTime = more[more.length - 1]?.end_s ?? lastTime;
				});
			}
			own.push(dumped(scene, c, choice, place));
			last = place.mass_kg;
			lastTime = place.end_s;
		}
		const ending = reading.endings.find((e) => e.combine === c);
		const final = own[own.length - 1];
		const left = (scene.flows[c]!.total_kg - last) * factorOf(scene, c);
		if (final?.loose && final.choice && ending?.inserts.length === 0 && left < 0.9 * scene.fill_kg) {
			// Nothing tells when it was, and a combine that is done is emptied: it took all there was.
			final.end_s = scene.flows[c]!.end_s;
			final.mass_kg = scene.flows[c]!.total_kg;
			final.u_flow_kg = 0.03 * scene.fill_kg;
		} else if (ending) own.push(...endings(scene, reading, c, last, lastTime, ending.inserts));
		list.push(...measured(scene, c, own));
	}
	return list.filter((e) => e.to > e.from || e.choice !== null || records.n === 0);
}

function dumped(scene: Scene, c: number, choice: Choice, place: Place): Emptying {
	const step = scene.steps[choice.step]!;
	const rests = choice.combine === c ? choice.rests : choice.otherRests;
	const run = place.run >= 0 ? scene.runs[c]![place.run] : undefined;
	const tank = scene.tank_kg[c] as number;
	const kg = choice.kind === 'mixed' ? step.kg / 2 : step.kg;
	const flow = flowAround(scene.flows[c]!, place.end_s);
	return {
		combine: c,
		start_s: run ? run.start_s : place.end_s - 5 - kg / USUAL.unloading_kg_s,
		end_s: place.end_s,
		u_s: run ? 3 : Math.hypot(step.sigma_s, scene.habits.delay_s),
		mass_kg: place.mass_kg,
		fill_kg: 0,
		from: 0,
		to: 0,
		flow_kg_s: flow,
		choice,
		told: -1,
		unweighed: null,
		prior_kg: rests ? COSTS.restShare * tank : 0,
		u_prior_kg: rests ? COSTS.restShare * tank : USUAL.clinging_kg,
		u_flow_kg: Math.sqrt(Math.max(0, place.slack - USUAL.clinging_kg ** 2)),
		rests,
		loose: !Number.isFinite(step.time_s) && !run,
	};
}

/** Grain that left tank c between its previous unloading and `place` without a row. */
function inserted(
	scene: Scene,
	c: number,
	insert: Insert,
	last: number,
	lastTime: number,
	place: Place,
	choice: Choice,
	final: boolean,
): Emptying[] {
	const k = factorOf(scene, c);
	const step = scene.steps[choice.step]!;
	const weighedMass = (choice.kind === 'mixed' ? step.kg / 2 : step.kg) / k;
	const told = insert.told >= 0 ? scene.told[insert.told]! : null;
	const reason = told ? toldReason(scene, insert) : unweighedReason(insert, c, scene);
	if (insert.runs.length > 0) {
		return insert.runs.map((r) => byRun(scene, c, r, insert, reason));
	}
	// The fill after it is what the dump weighed; the one before it is what it weighed itself, if that is told.
	const byDump = place.mass_kg - weighedMass;
	const byTold = told ? last + told.kg / k : byDump;
	const at = told && (choice.rests || !final) ? byTold : (byDump + byTold) / 2;
	const whole = Math.max(last, Math.min(place.mass_kg, at));
	const size = scene.tank_kg[c] as number;
	// More than a tank holds went in several times.
	const times = told ? 1 : Math.max(1, Math.round(((whole - last) * k) / size - 0.1));
	const list: Emptying[] = [];
	for (let n = 1; n <= times; n++) {
		const at = last + ((whole - last) * n) / times;
		const end_s = Math.max(
			lastTime,
			standingNear(scene, c, at, times === 1 ? 0.06 : 0.2) ?? timeOfMass(scene.flows[c]!, at),
		);
		list.push(loose(scene, c, end_s, insert.told, reason, (whole - last) / times));
	}
	return list;
}

function endings(
	scene: Scene,
	reading: Reading,
	c: number,
	last: number,
	lastTime: number,
	inserts: Insert[],
): Emptying[] {
	const f = scene.flows[c]!;
	const k = reading.belief.x[c] as number;
	const list: Emptying[] = [];
	let from = last;
	let fromTime = lastTime;
	for (const insert of inserts) {
		const told = insert.told >= 0 ? scene.told[insert.told]! : null;
		const reason = told ? toldReason(scene, insert) : unweighedReason(insert, c, scene);
		if (insert.runs.length > 0) {
			for (const r of insert.runs) list.push(byRun(scene, c, r, insert, reason));
			const run = scene.runs[c]![insert.runs[insert.runs.length - 1] as number]!;
			from = run.endMass_kg;
			fromTime = run.end_s;
			continue;
		}
		if (told) {
			const at = Math.min(f.total_kg, from + told.kg / k);
			const end_s = Math.max(fromTime, standingNear(scene, c, at, 0.06) ?? timeOfMass(f, at));
			list.push(loose(scene, c, end_s, insert.told, reason, at - from));
			from = at;
			fromTime = end_s;
			continue;
		}
		const size = scene.tank_kg[c] as number;
		const times = Math.max(1, Math.floor(((f.total_kg - from) * k) / size));
		for (let n = 1; n <= times; n++) {
			const at = from + ((f.total_kg - from) * n) / (times + 1);
			list.push(loose(scene, c, timeOfMass(f, at), -1, reason, (f.total_kg - from) / (times + 1)));
		}
		from += ((f.total_kg - from) * times) / (times + 1);
	}
	const left = (f.total_kg - from) * k;
	if (left > LEFT_SHARE * scene.fill_kg) {
		list.push({
			...loose(scene, c, f.end_s, -1, `no dump follows: ${weight(left)} was cut after the last one`, f.total_kg - from),
			rests: true,
		});
	}
	return list;
}

function byRun(scene: Scene, c: number, r: number, insert: Insert, reason: string): Emptying {
	const some = COSTS.restShare * (scene.tank_kg[c] as number);
	const run = scene.runs[c]![r]!;
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
		choice: null,
		told: insert.told,
		unweighed: reason,
		prior_kg: insert.rests ? some : 0,
		// Nobody saw it emptied: what the next dump says of it counts for more.
		u_prior_kg: insert.rests ? some : Math.hypot(USUAL.clinging_kg, 0.02 * scene.fill_kg),
		u_flow_kg: run.flow_kg_s * 4,
		rests: insert.rests,
		loose: false,
	};
}

function loose(scene: Scene, c: number, end_s: number, told: number, reason: string, mass_kg: number): Emptying {
	const f = scene.flows[c]!;
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
		choice: null,
		told,
		unweighed: reason,
		prior_kg: 0,
		// Where it ended is read off the weights themselves: it tells nothing of the factor.
		u_prior_kg: Math.max(0.3 * scene.fill_kg, 0.3 * mass_kg),
		u_flow_kg: 0,
		rests: false,
		loose: true,
	};
}

/** Middle of a stop at which the monitor stood at about this mass; null where there is none. */
function standingNear(scene: Scene, c: number, mass_kg: number, share: number): number | null {
	const f = scene.flows[c]!;
	const reach = share * scene.fill_kg;
	const from = recordsUntil(f, timeOfMass(f, mass_kg - reach));
	const to = recordsUntil(f, timeOfMass(f, mass_kg + reach));
	let best: number | null = null;
	let miss = Number.POSITIVE_INFINITY;
	for (let k = Math.max(1, from); k < Math.min(to + 1, f.time_s.length); k++) {
		if ((f.stood_s[k + 1] as number) === (f.stood_s[k] as number)) continue;
		let end = k;
		while (end + 1 < f.time_s.length && (f.stood_s[end + 2] as number) > (f.stood_s[end + 1] as number)) end++;
		const stood = (f.stood_s[end + 1] as number) - (f.stood_s[k] as number);
		const d = Math.abs((f.sum_kg[end + 1] as number) - mass_kg);
		if (stood >= 40 && d < miss) {
			miss = d;
			best = f.time_s[end] as number;
		}
		k = end;
	}
	return best;
}

/** In order, with record ranges and masses. */
function measured(scene: Scene, c: number, list: Emptying[]): Emptying[] {
	const f = scene.flows[c]!;
	let from = 0;
	for (const e of list) {
		e.from = from;
		e.to = Math.max(from, recordsUntil(f, e.end_s));
		e.fill_kg = (f.sum_kg[e.to] as number) - (f.sum_kg[e.from] as number);
		from = e.to;
	}
	return list;
}

const factorOf = (scene: Scene, c: number): number => scene.habits.factor[c] as number;

function toldReason(scene: Scene, insert: Insert): string {
	const told = scene.told[insert.told]!;
	return told.kind === 'straight'
		? `dumped straight into a truck: its ticket weighs ${weight(told.kg)}`
		: `not saved: the cart gave ${weight(told.kg)} more to the truck than its dumps brought in`;
}

function unweighedReason(insert: Insert, _c: number, scene: Scene): string {
	if (insert.runs.length > 0) return 'the auger ran and no weight was saved: dumped into a truck, or not saved';
	return `the next dump weighs less than was cut by ${scene.levelSpeaks ? 'a fill, and the cart never held it' : 'about a fill'}: unloaded without a weight`;
}
