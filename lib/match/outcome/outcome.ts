import type { Match } from '../../model/index.ts';
import { clockNotes } from '../clock/offset.ts';
import type { Explained } from '../explained.ts';
import type { MatchInput } from '../problem/input.ts';
import { assemble } from './assemble.ts';
import { pinDisputes } from './pins.ts';
import { uncertainDumps } from './uncertain.ts';

/** Makes a `Match` from an explanation, in the terms of the files as given. */
export function matchOf(e: Explained, given: MatchInput): Match {
	const { problem, offset, solved, input } = e;
	const { book, records } = input;
	const notes = [...e.notes];
	const cautions = [...e.cautions, ...pinDisputes(input, problem, offset.at_s)];
	if (problem.observations.length > 0) notes.push(...clockNotes(offset.clock));
	const doubtful = uncertainDumps(problem, solved.all);
	if (doubtful.size > 0) {
		const ids = [...doubtful].sort((a, b) => a - b).map((d) => book.dumps[d]?.id);
		cautions.push(`Uncertain match: ${ids.join(', ')}. Another match fits almost as well.`);
	}
	const match = assemble({
		problem,
		records,
		book,
		plan: input.plan,
		reference: input.reference,
		hypothesis: solved.hypothesis,
		list: solved.list,
		smooth: solved.smooth,
		starts: solved.starts,
		excluded: e.excluded,
		doubtful,
		clock: offset.clock,
		clockFit: offset.tried,
		notes,
		cautions,
	});
	// Without dumps there is one caution instead of a list of every fill.
	if (book.dumps.length === 0) for (const u of match.unloadings) u.unweighed = null;
	if (e.supposed) {
		if (e.supposed.caution) match.cautions.unshift(e.supposed.caution);
		e.supposed.undo(match, given);
	}
	return match;
}
