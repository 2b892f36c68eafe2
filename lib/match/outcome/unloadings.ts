import { type Records, TANK } from '../../model/index.ts';
import { type Assignment, assignmentsOf, type Hypothesis, type Insert, type Part } from '../beam/hypothesis.ts';
import { flowAround, massAt, recordsUntil, timeOfMass } from '../problem/mass.ts';
import type { Problem } from '../problem/problem.ts';
import { deducedReason, unweighedReason } from './reasons.ts';
import { weight } from './words.ts';

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

/** Grain left at the end of the log is listed where it exceeds this share of a usual fill. */
const LEFT_SHARE = 0.35;

/** Lists every emptying of every tank in a hypothesis, by combine, then in order of time. */
export function emptyings(problem: Problem, records: Records, hypothesis: Hypothesis): Emptying[] {
	const assignments = assignmentsOf(hypothesis);
	const list: Emptying[] = [];
	for (let c = 0; c < problem.flows.length; c++) {
		const own: Emptying[] = [];
		let last = 0;
		let lastTime = problem.flows[c]!.start_s;
		for (const assignment of assignments) {
			if (assignment.kind === 'repeat' || assignment.kind === 'foreign') continue;
			const part = assignment.parts.find((p) => p.combine === c);
			if (!part) continue;
			const { place } = part;
			if (assignment.kind !== 'outlier') {
				assignment.inserts.forEach((insert, n) => {
					const final = n === assignment.inserts.length - 1;
					const more = inserted(problem, insert, { mass_kg: last, end_s: lastTime }, { part, assignment, final });
					own.push(...more);
					last = more[more.length - 1]?.mass_kg ?? last;
					lastTime = more[more.length - 1]?.end_s ?? lastTime;
				});
			}
			own.push(dumped(problem, assignment, part));
			last = place.mass_kg;
			lastTime = place.end_s;
		}
		const ending = hypothesis.endings.find((e) => e.combine === c);
		const final = own[own.length - 1];
		const left = (problem.flows[c]!.total_kg - last) * factorOf(problem, c);
		if (final?.loose && final.assignment && ending?.inserts.length === 0 && left < 0.9 * problem.fill_kg) {
			// Its time is unknown, and a combine that is done is emptied, so it is taken to end with the log.
			final.end_s = problem.flows[c]!.end_s;
			final.mass_kg = problem.flows[c]!.total_kg;
			final.u_flow_kg = 0.03 * problem.fill_kg;
		} else if (ending) own.push(...endings(problem, hypothesis, c, { mass_kg: last, end_s: lastTime }, ending.inserts));
		list.push(...measured(problem, c, own));
	}
	return list.filter((e) => e.to > e.from || e.assignment !== null || records.n === 0);
}

/** The emptying of a dump. */
function dumped(problem: Problem, assignment: Assignment, { combine: c, place, rests }: Part): Emptying {
	const observation = problem.observations[assignment.observation]!;
	const run = place.run >= 0 ? problem.runs[c]!.list[place.run] : undefined;
	const tank = problem.tank_kg[c] as number;
	const kg = observation.kg / assignment.parts.length;
	const flow = flowAround(problem.flows[c]!, place.end_s);
	return {
		combine: c,
		start_s: run ? run.start_s : place.end_s - 5 - kg / TANK.unloading_kg_s,
		end_s: place.end_s,
		u_s: run ? 3 : Math.hypot(observation.sigma_s, problem.priors.delay_s),
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

/** Where a combine's previous emptying ended: monitor mass, kg, and time. */
interface Since {
	mass_kg: number;
	end_s: number;
}

/** Emptyings by an insert, between the previous one and a dump; `final` for the last insert before the dump. */
function inserted(
	problem: Problem,
	insert: Insert,
	{ mass_kg: last, end_s: lastTime }: Since,
	{ part: { combine: c, place, rests }, assignment, final }: { part: Part; assignment: Assignment; final: boolean },
): Emptying[] {
	const k = factorOf(problem, c);
	const observation = problem.observations[assignment.observation]!;
	const weighedMass = observation.kg / assignment.parts.length / k;
	const deduced = insert.deduced >= 0 ? problem.deduced[insert.deduced]! : null;
	const reason = deduced ? deducedReason(problem, insert) : unweighedReason(problem, insert);
	if (insert.run >= 0) return [byRun(problem, c, insert, reason)];
	// Two estimates of its end: the dump's weight before the dump, and its own weight, if deduced, after the previous one.
	const byDump = place.mass_kg - weighedMass;
	const byDeduction = deduced ? last + deduced.kg / k : byDump;
	const at = deduced && (rests || !final) ? byDeduction : (byDump + byDeduction) / 2;
	const whole = Math.max(last, Math.min(place.mass_kg, at));
	// More than a tank holds was unloaded in several emptyings.
	const times = deduced ? 1 : Math.max(1, Math.round(tanksOf(problem, c, (whole - last) * k) - 0.1));
	const list: Emptying[] = [];
	for (let n = 1; n <= times; n++) {
		const at = last + ((whole - last) * n) / times;
		const end_s = Math.max(
			lastTime,
			standingNear(problem, c, at, times === 1 ? 0.06 : 0.2) ?? timeOfMass(problem.flows[c]!, at),
		);
		list.push(loose(problem, c, { end_s, deduced: insert.deduced, reason, mass_kg: (whole - last) / times }));
	}
	return list;
}

/** Emptyings of combine c after its last dump. */
function endings(
	problem: Problem,
	hypothesis: Hypothesis,
	c: number,
	{ mass_kg: last, end_s: lastTime }: Since,
	inserts: readonly Insert[],
): Emptying[] {
	const f = problem.flows[c]!;
	const k = hypothesis.belief.x[c] as number;
	const list: Emptying[] = [];
	let from = last;
	let fromTime = lastTime;
	for (const insert of inserts) {
		const deduced = insert.deduced >= 0 ? problem.deduced[insert.deduced]! : null;
		const reason = deduced ? deducedReason(problem, insert) : unweighedReason(problem, insert);
		if (insert.run >= 0) {
			list.push(byRun(problem, c, insert, reason));
			const run = problem.runs[c]!.list[insert.run]!;
			from = run.endMass_kg;
			fromTime = run.end_s;
			continue;
		}
		if (deduced) {
			const at = Math.min(f.total_kg, from + deduced.kg / k);
			const end_s = Math.max(fromTime, standingNear(problem, c, at, 0.06) ?? timeOfMass(f, at));
			list.push(loose(problem, c, { end_s, deduced: insert.deduced, reason, mass_kg: at - from }));
			from = at;
			fromTime = end_s;
			continue;
		}
		const times = Math.max(1, Math.floor(tanksOf(problem, c, (f.total_kg - from) * k)));
		for (let n = 1; n <= times; n++) {
			const at = from + ((f.total_kg - from) * n) / (times + 1);
			list.push(
				loose(problem, c, {
					end_s: timeOfMass(f, at),
					deduced: -1,
					reason,
					mass_kg: (f.total_kg - from) / (times + 1),
				}),
			);
		}
		from += ((f.total_kg - from) * times) / (times + 1);
	}
	const left = (f.total_kg - from) * k;
	if (left > LEFT_SHARE * problem.fill_kg) {
		list.push({
			...loose(problem, c, {
				end_s: f.end_s,
				deduced: -1,
				reason: `no dump follows; ${weight(left)} was cut after the last dump`,
				mass_kg: f.total_kg - from,
			}),
			rests: true,
		});
	}
	return list;
}

/** Number of tanks that some grain fills, at most the number of records. */
function tanksOf(problem: Problem, c: number, kg: number): number {
	return Math.min(kg / (problem.tank_kg[c] as number), problem.flows[c]!.index.length);
}

/** An emptying by a run of the auger. */
function byRun(problem: Problem, c: number, insert: Insert, reason: string): Emptying {
	const some = TANK.restShare * (problem.tank_kg[c] as number);
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
		deduced: insert.deduced,
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
function loose(
	problem: Problem,
	c: number,
	{ end_s, deduced, reason, mass_kg }: { end_s: number; deduced: number; reason: string; mass_kg: number },
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
		deduced,
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
function standingNear(problem: Problem, c: number, mass_kg: number, share: number): number | null {
	const f = problem.flows[c]!;
	const reach = share * problem.fill_kg;
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

/** Sets record ranges and masses of a combine's emptyings, which are in order. */
function measured(problem: Problem, c: number, list: Emptying[]): Emptying[] {
	const f = problem.flows[c]!;
	let from = 0;
	for (const e of list) {
		e.from = from;
		e.to = Math.max(from, recordsUntil(f, e.end_s));
		e.fill_kg = (f.sum_kg[e.to] as number) - (f.sum_kg[e.from] as number);
		from = e.to;
	}
	return list;
}

const factorOf = (problem: Problem, c: number): number => problem.priors.factor[c] as number;
