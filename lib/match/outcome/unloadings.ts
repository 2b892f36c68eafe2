import type { Records } from '../../model/index.ts';
import { massInBoth } from '../../units/index.ts';
import { type Assignment, type Hypothesis, historyOf, type Insert, type Part } from '../beam/hypothesis.ts';
import { recordsUntil, timeOfMass } from '../problem/mass.ts';
import type { Problem } from '../problem/problem.ts';
import { byRun, dumped, type Emptying, loose } from './emptying.ts';
import { unweighedReason } from './reasons.ts';

/** Grain left at the end of the log is listed where it exceeds this share of a usual fill. */
const LEFT_SHARE = 0.35;

/** Lists every emptying of every tank in a hypothesis, by combine, then in order of time. */
export function emptyings(problem: Problem, records: Records, hypothesis: Hypothesis): Emptying[] {
	const history = historyOf(hypothesis);
	const list: Emptying[] = [];
	for (let c = 0; c < problem.flows.length; c++) {
		const k = hypothesis.belief.x[c]!;
		const own: Emptying[] = [];
		let last = 0;
		let lastTime = problem.flows[c]!.start_s;
		for (const { assignment, belief } of history) {
			if (assignment.kind === 'repeat' || assignment.kind === 'foreign') continue;
			const part = assignment.parts.find((p) => p.combine === c);
			if (!part) continue;
			const { place } = part;
			if (assignment.kind !== 'outlier') {
				for (const insert of assignment.inserts) {
					const more = inserted(problem, insert, k, { mass_kg: last, end_s: lastTime }, { part, assignment });
					own.push(...more);
					last = more[more.length - 1]?.mass_kg ?? last;
					lastTime = more[more.length - 1]?.end_s ?? lastTime;
				}
			}
			own.push(dumped(problem, assignment, part, belief.x[problem.flows.length + c]!));
			last = place.mass_kg;
			lastTime = place.end_s;
		}
		const ending = hypothesis.endings.find((e) => e.combine === c);
		const final = own[own.length - 1];
		const left = (problem.flows[c]!.total_kg - last) * k;
		if (final?.loose && final.assignment && ending?.inserts.length === 0 && left < 0.9 * problem.fill_kg) {
			// Its time is unknown, and a combine that is done is emptied, so it is taken to end with the log.
			final.end_s = problem.flows[c]!.end_s;
			final.mass_kg = problem.flows[c]!.total_kg;
			final.u_account_kg = (0.03 * problem.fill_kg) / k;
		} else if (ending) own.push(...endings(problem, k, c, last, ending.inserts));
		list.push(...measured(problem, c, own));
	}
	return list.filter((e) => e.to > e.from || e.assignment !== null || records.n === 0);
}

/** Where a combine's previous emptying ended: monitor mass, kg, and time. */
interface Since {
	mass_kg: number;
	end_s: number;
}

/** Emptyings by an insert, between the previous one and a dump, of a combine of factor k. */
function inserted(
	problem: Problem,
	insert: Insert,
	k: number,
	{ mass_kg: last, end_s: lastTime }: Since,
	{ part: { combine: c, place }, assignment }: { part: Part; assignment: Assignment },
): Emptying[] {
	const observation = problem.observations[assignment.observation]!;
	const weighedMass = observation.kg / assignment.parts.length / k;
	const reason = unweighedReason(problem, insert);
	if (insert.run >= 0) return [byRun(problem, c, insert, reason)];
	const whole = Math.max(last, Math.min(place.mass_kg, place.mass_kg - weighedMass));
	// More than a tank holds was unloaded in several emptyings.
	const times = Math.max(1, Math.round(tanksOf(problem, c, (whole - last) * k) - 0.1));
	const list: Emptying[] = [];
	for (let n = 1; n <= times; n++) {
		const at = last + ((whole - last) * n) / times;
		const end_s = Math.max(lastTime, timeOfMass(problem.flows[c]!, at));
		list.push(loose(problem, c, { end_s, reason, mass_kg: (whole - last) / times }));
	}
	return list;
}

/** Emptyings of combine c, of factor k, after its last dump. */
function endings(problem: Problem, k: number, c: number, last: number, inserts: readonly Insert[]): Emptying[] {
	const f = problem.flows[c]!;
	const list: Emptying[] = [];
	let from = last;
	for (const insert of inserts) {
		const reason = unweighedReason(problem, insert);
		if (insert.run >= 0) {
			list.push(byRun(problem, c, insert, reason));
			const run = problem.runs[c]!.list[insert.run]!;
			from = run.endMass_kg;
			continue;
		}
		const times = Math.max(1, Math.floor(tanksOf(problem, c, (f.total_kg - from) * k)));
		for (let n = 1; n <= times; n++) {
			const at = from + ((f.total_kg - from) * n) / (times + 1);
			list.push(
				loose(problem, c, {
					end_s: timeOfMass(f, at),
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
				reason: `no dump follows; ${massInBoth(left)} was cut after the last dump`,
				mass_kg: f.total_kg - from,
			}),
			rests: true,
		});
	}
	return list;
}

/** Number of tanks that some grain fills, at most the number of records. */
function tanksOf(problem: Problem, c: number, kg: number): number {
	return Math.min(kg / problem.tank_kg[c]!, problem.flows[c]!.index.length);
}

/** Sets record ranges and masses of a combine's emptyings, which are in order. */
function measured(problem: Problem, c: number, list: Emptying[]): Emptying[] {
	const f = problem.flows[c]!;
	let from = 0;
	for (const e of list) {
		e.from = from;
		e.to = Math.max(from, recordsUntil(f, e.end_s));
		e.account_kg = f.sum_kg[e.to]! - f.sum_kg[e.from]!;
		from = e.to;
	}
	return list;
}
