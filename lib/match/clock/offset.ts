import type { Clock, FieldPlan } from '../../model/index.ts';
import { mad, median } from '../../stats/index.ts';
import { durationText } from '../../units/index.ts';
import { assignmentsOf, type Hypothesis, isAccepted } from '../beam/hypothesis.ts';
import { isTimed, type Problem } from '../problem/problem.ts';
import { clockByDay, findClock } from './find-clock.ts';

/** Standard uncertainty of the usual delay in taking a weight, and of times to the minute (truncated or rounded), seconds. */
const DELAY_U_S = 6;
const MINUTE_U_S = 15;

/** Standard uncertainty of an offset that was not refined beyond the search's grid, seconds. */
const RIVAL_U_S = 30;

/** The offset in use, and its source. */
export interface Offset {
	at_s: number;
	clock: Clock;
	tried: { offset_s: number; cost: number }[];
}

/**
 * Estimates the cart clock's offset, or takes the one set by hand. Where the clock was reset between two days, shifts the
 * observations' times to the clock of the day with most dumps.
 *
 * @param keep - what is found does not depend on the clock that the user sets
 */
export function setClock(
	problem: Problem,
	plan: FieldPlan,
	cautions: string[],
	report: (share: number) => void,
	keep: <T>(part: string, make: () => T) => T,
): { main: Offset; others: number[] } {
	const none: Clock = { offset_s: Number.NaN, u_s: Number.NaN, source: 'none', byDay: [] };
	if (!isTimed(problem)) return { main: { at_s: 0, clock: none, tried: [] }, others: [] };
	const found = keep('clock', () => findClock(problem, report));
	const pinned = plan.pins.clock_offset_s;
	if (pinned !== undefined) {
		if (Math.abs(pinned - found.offset_s) > 3 * found.u_s + 60) {
			cautions.push(
				`The cart clock's offset is set by hand to ${signed(pinned)}; the logs fit best at ${signed(found.offset_s)}, give or take ${durationText(2 * found.u_s)}.`,
			);
		}
		const clock: Clock = { offset_s: pinned, u_s: 0, source: 'pinned', byDay: [] };
		return { main: { at_s: pinned, clock, tried: found.tried }, others: [] };
	}
	const days = keep('clock by day', () => clockByDay(problem, found.offset_s));
	const longest = days.reduce((a, b) => (b.observations.length > a.observations.length ? b : a));
	const main = days.length > 1 ? longest.offset_s : found.offset_s;
	const byDay: Clock['byDay'] = [];
	if (days.length > 1) {
		for (const day of days) {
			const first = problem.observations[day.observations[0]!]!.time_s;
			byDay.push({ day: new Date(first * 1000).toISOString().slice(0, 10), offset_s: day.offset_s });
			const shift = day.offset_s - main;
			for (const i of day.observations) problem.observations[i]!.time_s += shift;
		}
		cautions.push('The cart clock was reset between two days; each day has its own offset.');
	}
	const u_s = Math.hypot(found.u_s, 2 * unsure(problem));
	const clock: Clock = { offset_s: main, u_s, source: 'estimated', byDay };
	return {
		main: { at_s: main, clock, tried: found.tried },
		others: days.length > 1 ? [] : found.others,
	};
}

/** The result of the same search at another of the offsets that remain. */
export function clockAt(main: Offset, offset_s: number): Offset {
	return { ...main, at_s: offset_s, clock: { ...main.clock, offset_s, u_s: RIVAL_U_S } };
}

/** Standard uncertainty of the times of weighing that all dumps share, seconds. */
const unsure = (problem: Problem): number => (problem.observations.some((s) => s.byMinute) ? MINUTE_U_S : DELAY_U_S);

/** The clock by the ends of the auger's runs at which a hypothesis has the weights taken, where at least three show it. */
export function clockByRuns(clock: Clock, at_s: number, problem: Problem, hypothesis: Hypothesis): Clock {
	const off = assignmentsOf(hypothesis).flatMap((a) => {
		const t = problem.observations[a.observation]!.time_s;
		const seen = isAccepted(a) && a.parts.every((p) => p.place.run >= 0);
		// A weight of several unloadings is taken at the end of the last one.
		return seen && Number.isFinite(t) ? [Math.max(...a.parts.map((p) => p.place.end_s)) - t] : [];
	});
	if (clock.source !== 'estimated' || off.length < 3) return clock;
	const offset_s = median(off);
	const scatter_s = Math.max(2, mad(off, offset_s));
	const u_s = Math.hypot((1.25 * scatter_s) / Math.sqrt(off.length), 3, unsure(problem));
	const byDay = clock.byDay.map((d) => ({ ...d, offset_s: d.offset_s + offset_s - at_s }));
	return { ...clock, offset_s, u_s, byDay };
}

/** Least offset, and least standard uncertainty of it, that give a note, seconds. */
const NOTABLE_S = 300;
const VAGUE_S = 60;

/** Notes on the cart's clock. */
export function clockNotes(clock: Clock): string[] {
	if (clock.source === 'none') {
		return ['No dump has a time. They are placed by their order in the cart log and their weights.'];
	}
	const notes: string[] = [];
	if (Math.abs(clock.offset_s) > NOTABLE_S) {
		const way = clock.offset_s > 0 ? 'behind' : 'ahead of';
		notes.push(`The cart’s clock is ${durationText(clock.offset_s)} ${way} the logs. Set it before the next field.`);
	}
	if (clock.u_s > VAGUE_S) {
		notes.push(
			`The cart clock offset is known only to about ±${durationText(2 * clock.u_s)}; a steady day reveals little about it.`,
		);
	}
	return notes;
}

const signed = (seconds: number): string => `${Math.round(seconds) < 0 ? '−' : ''}${durationText(seconds)}`;
