import type {
	Account,
	Clock,
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
import { align } from './align.ts';
import { assemble } from './assemble.ts';
import { findClock, offsetCost } from './clock.ts';
import { doubts } from './doubt.ts';
import { augerClock, learn } from './habits.ts';
import { prepare } from './prepare.ts';
import type { Reading } from './reading.ts';
import { choicesOf } from './reading.ts';
import { lookUp, type Scene } from './scene.ts';
import { type Smoothed, smoothRests } from './smooth.ts';
import { matchTickets } from './tickets.ts';
import { type Emptying, emptyings } from './unloadings.ts';
import { span } from './words.ts';

export { accountMass } from './account.ts';

/** Readings kept after each dump in the last rounds. */
const WIDTH = 48;

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
	const { scene, excluded, remarks } = prepare(input);
	if (book.dumps.length === 0 && book.tickets.length > 0) return matchTickets(input, scene);
	const notes: string[] = [];
	const cautions = [...remarks];

	const timed = scene.steps.some((s) => Number.isFinite(s.time_s));
	const pinned = plan.pins.clock_offset_s;
	let clock: Clock = { offset_s: Number.NaN, u_s: Number.NaN, source: 'none', byDay: [] };
	let clockFit: { offset_s: number; cost: number }[] = [];
	let offset = 0;
	// What is usual in taking a weight is known no better; whether minutes are cut off or rounded, neither.
	const minutes = scene.steps.some((s) => book.dumps[s.dump]?.timeGrain === 'minute');
	const definition_s = minutes ? 15 : 6;
	if (timed && scene.steps.length > 0) {
		const found = findClock(scene, (share) => progress.step('match', 0.8 * share));
		clockFit = found.tried;
		offset = pinned ?? found.offset_s;
		clock = {
			offset_s: offset,
			u_s: pinned === undefined ? Math.hypot(found.u_s, 2 * definition_s) : 0,
			source: pinned === undefined ? 'estimated' : 'pinned',
			byDay: [],
		};
		if (pinned !== undefined && Math.abs(pinned - found.offset_s) > 3 * found.u_s + 60) {
			cautions.push(
				`The clock offset is set by hand to ${span(pinned)}${pinned < 0 ? ' back' : ''}; the logs fit best at ${Math.round(found.offset_s)} s (± ${Math.round(2 * found.u_s)} s).`,
			);
		}
	}

	let solved = solve(scene, offset, clock.u_s);
	for (let round = 0; round < 2; round++) {
		scene.habits = learn(scene, solved.reading, solved.list, solved.smooth);
		const auger = augerClock(scene, solved.reading);
		if (auger && pinned === undefined && timed) {
			offset = auger.offset_s;
			clock = { ...clock, offset_s: offset, u_s: Math.hypot(auger.u_s, definition_s) };
		}
		solved = solve(scene, offset, auger ? 5 : clock.u_s);
		progress.step('match', 0.85 + 0.05 * round);
	}
	if (!timed && scene.steps.length > 0) {
		notes.push('No dump has a time: their order in the cart log and their weights alone place them.');
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
		doubtful: doubts(scene, solved.all),
		clock,
		clockFit,
		notes,
		cautions,
	});
	// Without a single dump nothing was weighed: that is one caution, not a list of every fill.
	if (book.dumps.length === 0) for (const u of match.unloadings) u.unweighed = null;
	return match;

	function solve(s: Scene, at_s: number, u_s: number): Solved {
		const clock_s = Number.isFinite(u_s) ? Math.min(120, u_s) : 0;
		const table = lookUp(s, at_s, false);
		const all = align(s, table, { width: WIDTH, whole: true, clock_s });
		const reading = all[0] as Reading;
		const starts = startsWithGrain(reading);
		const list = emptyings(s, records, reading);
		return { all, reading, list, starts, smooth: smoothRests(s, list, starts) };
	}
}

interface Solved {
	all: Reading[];
	reading: Reading;
	list: Emptying[];
	starts: boolean[];
	smooth: Smoothed;
}

/** Which tanks the reading takes to come with grain. */
function startsWithGrain(reading: Reading): boolean[] {
	let first = reading;
	while (first.parent) first = first.parent;
	const C = first.mass_kg.length;
	return Array.from({ length: C }, (_, c) => (first.belief.x[C + c] as number) > 0);
}

export { choicesOf, offsetCost };
