import { type Match, MONITOR, type Records, TANK, type Unloading } from '../../model/index.ts';
import type { BestHypothesis } from '../best-at-offset.ts';
import { clockByRuns, clockNotes } from '../clock/offset.ts';
import type { Explained } from '../explained.ts';
import { COSTS } from '../problem/costs.ts';
import type { MatchInput } from '../problem/input.ts';
import type { Problem } from '../problem/problem.ts';
import type { Emptying } from './emptying.ts';
import { fates } from './fates.ts';
import { pinDisputes } from './pins.ts';
import { uncertainDumps } from './uncertain.ts';
import { weighings } from './weighings.ts';

/** Makes a `Match` from an explanation, in the terms of the files as given. */
export function matchOf(explained: Explained, given: MatchInput): Match {
	const { problem, solved, input, supposed } = explained;
	const { list, starts, factor, u_factor } = solved;
	const { book, records } = input;
	const { at_s } = explained.offset;
	const clock = clockByRuns(explained.offset.clock, at_s, problem, solved.hypothesis);
	const offset = { ...explained.offset, clock };
	// Fates and weighings add to both.
	const notes = [...explained.notes];
	const cautions = [...explained.cautions, ...pinDisputes(input, problem, at_s)];
	const e: Explained = { ...explained, offset, notes, cautions };
	if (problem.observations.length > 0) notes.push(...clockNotes(clock));
	const doubtful = uncertainDumps(problem, solved.all);
	if (doubtful.size > 0) {
		const ids = [...doubtful].sort((a, b) => a - b).map((d) => book.dumps[d]?.id);
		cautions.push(`Uncertain match: ${ids.join(', ')}. Another match fits almost as well.`);
	}
	const names = fillNames(list, records);
	const unloadings: Unloading[] = list.map(
		({ mass_kg, assignment, deduced, rests, left_kg, loose, ...unloading }, i) => ({
			...unloading,
			fill: names[i]!,
			// Without dumps there is one caution instead of a list of every fill.
			unweighed: assignment || book.dumps.length === 0 ? null : unloading.unweighed,
		}),
	);
	const match: Match = {
		clock,
		unloadings,
		fates: fates(e, doubtful, unloadings),
		weighings: weighings(e),
		start_kg: starts.map((some, c) => {
			const kg = COSTS.startShare * problem.tank_kg[c]!;
			return some ? { kg, u_kg: kg } : { kg: 0, u_kg: TANK.clinging_kg };
		}),
		// An estimate only where the weights determine the factor better than its prior.
		factors: factor.map((k, c) => (u_factor[c]! < 0.8 * MONITOR.factor ? k : Number.NaN)),
		independent: independent(problem, solved),
		clockFit: offset.tried,
		notes,
		cautions,
	};
	if (supposed?.caution) cautions.unshift(supposed.caution);
	supposed?.undo(match, given);
	return match;
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

/** Effective number of independent dumps, per combine: 1 for each whose tank was empty before and after, less for others. */
function independent(problem: Problem, { list, factor }: BestHypothesis): number[] {
	return problem.flows.map((_, c) => {
		let n = 0;
		list.forEach((e, i) => {
			if (e.combine !== c || !e.assignment || e.assignment.kind === 'outlier') return;
			const before = list[i - 1];
			const u0 = before && before.combine === c ? before.u_rest_kg : 0;
			// Relative to a fill's own scatter.
			const scatter = (MONITOR.fill * problem.fill_kg) ** 2;
			const u_kg = Math.hypot(u0, e.u_rest_kg, factor[c]! * e.u_account_kg);
			n += scatter / (scatter + u_kg ** 2 / 2) / e.assignment.parts.length;
		});
		return n;
	});
}
