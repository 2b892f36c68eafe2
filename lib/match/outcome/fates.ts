/** What became of each dump. */
import type { DumpFate, Unloading } from '../../model/index.ts';
import { someOf } from '../../units/index.ts';
import { type Assignment, assignmentsOf, combinesOf } from '../beam/hypothesis.ts';
import type { Explained } from '../explained.ts';
import { foreignReason, joinedReason, outlierReason, repeatReason } from './reasons.ts';

/** What became of each dump, in the order of the load book; adds to the explanation's cautions. */
export function fates(e: Explained, doubtful: ReadonlySet<number>, unloadings: readonly Unloading[]): DumpFate[] {
	const { problem, excluded, cautions } = e;
	const { records, book } = e.input;
	const { list, hypothesis, factor } = e.solved;
	const blank = (dump: number): DumpFate => ({
		dump,
		combines: [],
		combineSource: book.dumps[dump]!.combines.length > 0 ? 'noted' : 'inferred',
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
		book.dumps[dump]!.combines.map((n) => records.combines.indexOf(n)).filter((c) => c >= 0);
	for (const { dump, reason } of excluded) Object.assign(all[dump]!, { reason, combines: named(dump) });
	const emptied = new Map<Assignment, number[]>();
	list.forEach((e, i) => {
		if (e.assignment) emptied.set(e.assignment, [...(emptied.get(e.assignment) ?? []), i]);
	});
	const elsewhere = new Map<string, string[]>();
	for (const assignment of assignmentsOf(hypothesis)) {
		const observation = problem.observations[assignment.observation]!;
		const fate = all[observation.dump]!;
		fate.inDoubt = doubtful.has(observation.dump);
		const combines = combinesOf(assignment);
		const other = observation.noted && combines.some((c) => !observation.combines.includes(c));
		fate.combineSource = observation.noted && !other ? 'noted' : 'inferred';
		fate.combines = combines.length > 0 ? combines : named(observation.dump);
		if (assignment.kind === 'foreign') {
			fate.reason = foreignReason(problem, records, factor, assignment, e.offset.clock.offset_s || 0);
			continue;
		}
		if (assignment.kind === 'repeat') {
			const first = problem.observations[assignment.of]!.dump;
			fate.reason = repeatReason(book.dumps[first]!, book.dumps[observation.dump]!);
			continue;
		}
		const own = emptied.get(assignment) ?? [];
		setPlace(fate, own, unloadings);
		if (assignment.kind === 'outlier') {
			const i = own[0]!;
			const held = (unloadings[i]?.account_kg ?? 0) * factor[combines[0]!]!;
			fate.reason = outlierReason(records, assignment, held, observation.kg);
			continue;
		}
		setStatus(e, fate, assignment, own);
		if (other) {
			const noted = named(observation.dump)
				.map((c) => records.combines[c])
				.join('+');
			const found = combines.map((c) => records.combines[c]);
			const fits =
				found.length > 1 ? `the tanks of ${found.join(' and ')} together` : `${found[0]}'s tank and not ${noted}'s`;
			const why = `entered for ${noted}, but it fits ${fits}`;
			addReason(fate, why);
			elsewhere.set(why, [...(elsewhere.get(why) ?? []), book.dumps[observation.dump]!.id]);
		}
	}
	for (const [why, ids] of elsewhere) cautions.push(`${someOf(ids)}: ${ids.length > 1 ? 'each ' : ''}${why}.`);
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
	{ problem, input, solved }: Explained,
	fate: DumpFate,
	assignment: Assignment,
	own: readonly number[],
): void {
	const { records, plan, book } = input;
	const { list, starts, factor } = solved;
	const observation = problem.observations[assignment.observation]!;
	const reasons: string[] = [];
	for (const i of own) {
		const e = list[i]!;
		const before = list[i - 1];
		const first = !before || before.combine !== e.combine;
		// What it arrived with, its first weight shows.
		const came_kg = Math.max(0, observation.kg / own.length + e.left_kg - factor[e.combine]! * e.account_kg);
		const reason = joinedReason(
			records.combines[e.combine]!,
			first
				? { rests: starts[e.combine] === true, kg: came_kg, start: true }
				: { rests: before.rests, kg: before.left_kg, start: false },
			{ rests: e.rests, kg: e.left_kg, noted: observation.emptied === 0 },
		);
		if (reason !== null) reasons.push(reason);
	}
	fate.status = reasons.length > 0 ? 'joined' : 'used';
	fate.reason = reasons.length > 0 ? reasons.join('; ') : null;
	const pin = plan.pins.dumps?.[book.dumps[observation.dump]!.id];
	if (pin?.status !== undefined && pin.status !== 'aside') {
		if (pin.status !== fate.status)
			fate.reason = `${pin.reason ?? 'decided by hand'}${fate.reason ? ` (the logs say: ${fate.reason})` : ''}`;
		fate.status = pin.status;
	}
}

/** Puts a reason before those that a dump has. */
export function addReason(fate: DumpFate, why: string): void {
	fate.reason = fate.reason === null ? why : `${why}; ${fate.reason}`;
}
