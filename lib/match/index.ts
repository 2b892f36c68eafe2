import type {
	Account,
	FieldPlan,
	LoadBook,
	Match,
	Progress,
	Records,
	Reference,
	SeamJump,
	Track,
} from '../model/index.ts';
import { silent } from '../model/index.ts';
import { assemble } from './assemble.ts';
import { doubts } from './doubt.ts';
import { learn } from './habits.ts';
import { firstRound } from './loads.ts';
import { pinDisputes } from './pins.ts';
import { prepare } from './prepare.ts';
import { betterClock, clockNotes } from './settle.ts';
import { solve } from './solve.ts';
import { matchTickets } from './tickets.ts';

export interface MatchInput {
	records: Records;
	account: Account;
	track: Track;
	book: LoadBook;
	plan: FieldPlan;
	reference: Reference;
	/** Seam jumps as recorded. */
	seams: SeamJump[];
}

/**
 * Aligns the load book with the logs: which weight is which stretch of which combine's work. Solved together: the
 * cart clock's offset, the combine of each dump, unloadings nobody weighed or saved, weights saved twice, tanks that
 * keep a rest or come with grain, and the factors, which start wide and narrow from round to round.
 */
export function matchField(input: MatchInput, progress: Progress = silent): Match {
	const { records, book, plan, reference } = input;
	progress.step('match', 0);
	const prepared = prepare(input);
	const { excluded, remarks } = prepared;
	if (book.dumps.length === 0 && book.tickets.length > 0) return matchTickets(input, prepared.scene);

	const first = firstRound(prepared.scene, plan, records, (share) => progress.step('match', 0.8 * share));
	const { scene, offset } = first;
	const notes = [...first.notes];
	const cautions = [...remarks, ...first.cautions];
	let { clock } = offset;
	let { solved } = first;
	for (let round = 0; round < 2; round++) {
		scene.habits = learn(scene, solved.reading, solved.list, solved.smooth);
		const better = clock.source === 'estimated' ? betterClock(scene, solved, offset) : null;
		if (better) {
			offset.at_s = better.offset_s;
			clock = { ...clock, ...better };
		}
		solved = solve(scene, records, offset.at_s, better ? better.u_s : clock.u_s);
		progress.step('match', 0.85 + 0.05 * round);
	}
	clock = { ...clock, byDay: clock.byDay.map((d) => ({ ...d, offset_s: d.offset_s + offset.at_s - offset.first_s })) };
	cautions.push(...pinDisputes(input, scene, offset.at_s));
	if (scene.steps.length > 0) notes.push(...clockNotes(clock));
	const doubtful = doubts(scene, solved.all);
	if (doubtful.size > 0) {
		const ids = [...doubtful].sort((a, b) => a - b).map((d) => book.dumps[d]?.id);
		cautions.push(`In doubt: ${ids.join(', ')}. Another reading of the logs fits almost as well.`);
	}
	progress.step('match', 1);
	const match = assemble({
		scene,
		records,
		book,
		plan,
		reference,
		reading: solved.reading,
		list: solved.list,
		smooth: solved.smooth,
		starts: solved.starts,
		excluded,
		doubtful,
		clock,
		clockFit: offset.tried,
		notes,
		cautions,
	});
	// Without a single dump nothing was weighed: that is one caution, not a list of every fill.
	if (book.dumps.length === 0) for (const u of match.unloadings) u.unweighed = null;
	return match;
}
