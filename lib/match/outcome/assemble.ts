import {
	type Clock,
	type Dump,
	type DumpFate,
	type FieldPlan,
	type LoadBook,
	type Match,
	MONITOR,
	type Records,
	type Reference,
	stepsByCart,
	TANK,
	type Unloading,
	type Weighing,
} from '../../model/index.ts';
import { type Assignment, assignmentsOf, combinesOf, type Hypothesis } from '../beam/hypothesis.ts';
import { COSTS } from '../problem/costs.ts';
import { type Excluded, grossBefore, grossVariance } from '../problem/observations.ts';
import type { Problem } from '../problem/problem.ts';
import { foreignReason, joinedReason, outlierReason, repeatReason } from './reasons.ts';
import { type Smoothed, weights } from './smooth.ts';
import { totalBeside } from './total.ts';
import type { Emptying } from './unloadings.ts';

/** Makes a `Match` from a solved hypothesis; adds to `cautions`. */
export function assemble(input: {
	problem: Problem;
	records: Records;
	book: LoadBook;
	plan: FieldPlan;
	reference: Reference;
	hypothesis: Hypothesis;
	list: Emptying[];
	smooth: Smoothed;
	starts: boolean[];
	excluded: Excluded[];
	doubtful: Set<number>;
	clock: Clock;
	clockFit: { offset_s: number; cost: number }[];
	notes: string[];
	cautions: string[];
}): Match {
	const { problem, records, list, smooth, starts } = input;
	const names = fillNames(list, records);
	const unloadings: Unloading[] = list.map((e, i) => ({
		combine: e.combine,
		fill: names[i] as string,
		start_s: e.start_s,
		end_s: e.end_s,
		u_s: e.u_s,
		from: e.from,
		to: e.to,
		account_kg: e.fill_kg,
		u_account_kg: e.u_flow_kg / (problem.priors.factor[e.combine] as number),
		rest_kg: smooth.rest_kg[i] as number,
		u_rest_kg: smooth.u_rest_kg[i] as number,
		restPrior_kg: e.prior_kg,
		u_restPrior_kg: e.u_prior_kg,
		dump: e.assignment ? problem.observations[e.assignment.observation]!.dump : -1,
		ticket: e.deduced >= 0 ? problem.deduced[e.deduced]!.ticket : -1,
		unweighed: e.assignment ? null : e.unweighed,
		deduced_kg: e.deduced >= 0 ? problem.deduced[e.deduced]!.kg : Number.NaN,
	}));
	const startPrior_kg = starts.map((some, c) =>
		some
			? { kg: COSTS.startShare * problem.tank_kg[c]!, u_kg: COSTS.startShare * problem.tank_kg[c]! }
			: { kg: 0, u_kg: TANK.clinging_kg },
	);
	return {
		clock: input.clock,
		unloadings,
		fates: fates(input, unloadings),
		weighings: weighings(input),
		start_kg: smooth.start_kg,
		startPrior_kg,
		factors: smooth.factor.map((k, c) => (hasEstimate(input, c) ? k : Number.NaN)),
		independent: independent(problem, list),
		clockFit: input.clockFit,
		notes: input.notes,
		cautions: input.cautions,
	};
}

/** Whether the weights determine combine c's factor better than its prior. */
function hasEstimate(input: { problem: Problem; smooth: Smoothed }, c: number): boolean {
	return (input.smooth.u_factor[c] as number) < 0.8 * MONITOR.factor;
}

/**
 * Names the fill of each emptying. A fill runs from empty to empty, so emptyings between which grain is left share one. Its name
 * is the combine's with a number, "A3"; where that could be another combine's fill (A and A1: "A11") it has a dash, "A-11".
 */
function fillNames(list: readonly Emptying[], records: Records): string[] {
	const { combines } = records;
	const mixable = combines.map((name) =>
		combines.some((other) => other !== name && (isNumbered(name, other) || isNumbered(other, name))),
	);
	const names: string[] = [];
	let n = 0;
	list.forEach((e, i) => {
		const before = list[i - 1];
		if (!before || before.combine !== e.combine) n = 1;
		else if (!before.rests) n++;
		names.push(`${combines[e.combine]}${mixable[e.combine] ? '-' : ''}${n}`);
	});
	return names;
}

/** Whether a name is the stem followed by digits. */
const isNumbered = (name: string, stem: string): boolean =>
	name.startsWith(stem) && /^\d+$/.test(name.slice(stem.length));

/** What became of each dump, in the order of the load book. */
function fates(input: Parameters<typeof assemble>[0], unloadings: readonly Unloading[]): DumpFate[] {
	const { problem, records, book, list, hypothesis, excluded, doubtful, clock } = input;
	const offset = Number.isFinite(clock.offset_s) ? clock.offset_s : 0;
	const blank = (dump: number): DumpFate => ({
		dump,
		combines: [],
		combineSource: (book.dumps[dump] as Dump).combines.length > 0 ? 'noted' : 'inferred',
		status: 'aside',
		reason: null,
		fill: null,
		unloadings: [],
		start_s: Number.NaN,
		end_s: Number.NaN,
		inDoubt: false,
	});
	const all = book.dumps.map((_, d) => blank(d));
	const named = (dump: number): number[] =>
		(book.dumps[dump] as Dump).combines.map((n) => records.combines.indexOf(n)).filter((c) => c >= 0);
	for (const { dump, reason } of excluded) Object.assign(all[dump]!, { reason, combines: named(dump) });
	const emptied = new Map<Assignment, number[]>();
	list.forEach((e, i) => {
		if (e.assignment) emptied.set(e.assignment, [...(emptied.get(e.assignment) ?? []), i]);
	});
	for (const assignment of assignmentsOf(hypothesis)) {
		const observation = problem.observations[assignment.observation]!;
		const fate = all[observation.dump]!;
		fate.inDoubt = doubtful.has(observation.dump);
		const combines = combinesOf(assignment);
		const other = observation.noted && combines.some((c) => !observation.combines.includes(c));
		fate.combineSource = observation.noted && !other ? 'noted' : 'inferred';
		fate.combines = combines.length > 0 ? combines : named(observation.dump);
		if (assignment.kind === 'foreign') {
			fate.reason = foreignReason(problem, records, assignment, offset);
			continue;
		}
		if (assignment.kind === 'repeat') {
			const first = problem.observations[assignment.of]!.dump;
			fate.reason = repeatReason(book.dumps[first] as Dump, book.dumps[observation.dump] as Dump);
			continue;
		}
		const own = emptied.get(assignment) ?? [];
		setPlace(fate, own, unloadings);
		if (assignment.kind === 'outlier') {
			const i = own[0] as number;
			const held = (unloadings[i]?.account_kg ?? 0) * (problem.priors.factor[combines[0]!] as number);
			fate.reason = outlierReason(records, assignment, held, observation.kg);
			continue;
		}
		setStatus(input, fate, assignment, own);
		if (other) {
			const noted = named(observation.dump)
				.map((c) => records.combines[c])
				.join('+');
			const found = records.combines[combines[0]!];
			const why = `entered for ${noted}, but it fits ${found}'s tank and not ${noted}'s`;
			fate.reason = fate.reason === null ? why : `${why}; ${fate.reason}`;
			input.cautions.push(`${book.dumps[observation.dump]?.id}: ${why}.`);
		}
	}
	return all;
}

function setPlace(fate: DumpFate, own: readonly number[], unloadings: readonly Unloading[]): void {
	fate.unloadings = [...own];
	if (own.length === 0) return;
	fate.fill = own.map((i) => unloadings[i]!.fill).join('+');
	fate.start_s = Math.min(...own.map((i) => unloadings[i]!.start_s));
	fate.end_s = Math.max(...own.map((i) => unloadings[i]!.end_s));
}

/** Sets a dump's status, used or joined, and the reason. */
function setStatus(
	input: Parameters<typeof assemble>[0],
	fate: DumpFate,
	assignment: Assignment,
	own: readonly number[],
): void {
	const { problem, records, list, smooth, starts, plan, book } = input;
	const observation = problem.observations[assignment.observation]!;
	const reasons: string[] = [];
	for (const i of own) {
		const e = list[i]!;
		const before = list[i - 1];
		const first = !before || before.combine !== e.combine;
		const reason = joinedReason(
			records.combines[e.combine] as string,
			first
				? { rests: starts[e.combine] === true, kg: smooth.start_kg[e.combine]!.kg, start: true }
				: { rests: before.rests, kg: smooth.rest_kg[i - 1] as number, start: false },
			{ rests: e.rests, kg: smooth.rest_kg[i] as number, noted: observation.emptied === 0 },
		);
		if (reason !== null) reasons.push(reason);
	}
	fate.status = reasons.length > 0 ? 'joined' : 'used';
	fate.reason = reasons.length > 0 ? reasons.join('; ') : null;
	const pin = plan.pins.dumps?.[(book.dumps[observation.dump] as Dump).id];
	if (pin?.status !== undefined && pin.status !== 'aside') {
		if (pin.status !== fate.status)
			fate.reason = `${pin.reason ?? 'decided by hand'}${fate.reason ? ` (the logs say: ${fate.reason})` : ''}`;
		fate.status = pin.status;
	}
}

/** Lists every weight as an equation, with the gross readings that it shares with its neighbors. */
function weighings(input: Parameters<typeof assemble>[0]): Weighing[] {
	const { problem, book, plan, reference, list } = input;
	const readings = grossReadings(book);
	const gross = grossBefore(book);
	const result: Weighing[] = [];
	for (const w of weights(problem, list)) {
		if (w.observation < 0) {
			const deduced = problem.deduced[w.deduced]!;
			// A weight deduced from the cart's level is a difference of weights that are listed already.
			if (deduced.ticket < 0) continue;
			result.push({
				kind: 'ticket',
				dumps: [],
				ticket: deduced.ticket,
				weight_kg: deduced.kg,
				reference_kg: deduced.kg,
				u_reading_kg: Math.sqrt(deduced.variance),
				readings: [-1, -1],
				u_gross_kg: [0, 0],
				byCart: false,
				unloadings: w.emptyings,
				used: true,
			});
			continue;
		}
		const observation = problem.observations[w.observation]!;
		const d = book.dumps[observation.dump] as Dump;
		const before = gross[observation.dump] as number;
		const own = d.u_kg > 0;
		result.push({
			kind: w.emptyings.length > 1 ? 'mixed' : 'dump',
			dumps: [observation.dump],
			ticket: -1,
			weight_kg: d.weight_kg,
			reference_kg: d.weight_kg * reference.ratio,
			u_reading_kg: Math.sqrt(observation.u2),
			readings: own ? [-1, -1] : (readings[observation.dump] as [number, number]),
			u_gross_kg: own
				? [d.u_kg / Math.SQRT2, d.u_kg / Math.SQRT2]
				: [
						Math.sqrt(grossVariance(before, d.scale, plan)),
						Math.sqrt(grossVariance(before + d.weight_kg, d.scale, plan)),
					],
			byCart: true,
			unloadings: w.emptyings,
			used: w.accepted,
		});
	}
	const total = totalBeside(plan, input.records, reference, problem, input.smooth);
	if (total.weighing) result.push(total.weighing);
	if (total.caution) input.cautions.push(total.caution);
	return result;
}

/** Ids of the gross readings before and after each dump; a dump's last reading is the next one's first. */
function grossReadings(book: LoadBook): [number, number][] {
	const pairs: [number, number][] = book.dumps.map(() => [-1, -1]);
	let id = 0;
	for (const steps of stepsByCart(book)) {
		for (const { dump } of steps) {
			if (dump >= 0) pairs[dump] = [id, id + 1];
			id++;
		}
		id++;
	}
	return pairs;
}

/** Effective number of independent dumps, per combine: 1 for each whose tank was empty before and after, less for others. */
function independent(problem: Problem, list: readonly Emptying[]): number[] {
	return problem.flows.map((_, c) => {
		let n = 0;
		list.forEach((e, i) => {
			if (e.combine !== c || !e.assignment || e.assignment.kind === 'outlier') return;
			const before = list[i - 1];
			const u0 = before && before.combine === c ? before.u_prior_kg : 0;
			// Relative to a fill's own scatter.
			const scatter = (problem.priors.fill * problem.fill_kg) ** 2;
			n += scatter / (scatter + (u0 * u0 + e.u_prior_kg ** 2 + e.u_flow_kg ** 2) / 2) / e.assignment.parts.length;
		});
		return n;
	});
}
