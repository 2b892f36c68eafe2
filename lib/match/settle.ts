import type { Clock, FieldPlan } from '../model/index.ts';
import { clockByDay, findClock, refineClock } from './clock.ts';
import { augerClock } from './habits.ts';
import type { Scene } from './scene.ts';
import type { Solved } from './solve.ts';
import { span } from './words.ts';

/** What is usual in taking a weight is known no better, seconds; nor whether minutes are cut off or rounded. */
const DELAY_U_S = 6;
const MINUTE_U_S = 15;

/** The offset in use, which narrows from round to round, and where it came from. */
export interface Offset {
	at_s: number;
	/** As first found. */
	first_s: number;
	clock: Clock;
	tried: { offset_s: number; cost: number }[];
}

/**
 * Finds the cart clock's offset, or takes the one set by hand. Where the clock was set anew between two days, the
 * dumps' times are brought to the clock of the longest day.
 */
export function setClock(scene: Scene, plan: FieldPlan, cautions: string[], step: (share: number) => void): Offset {
	const none: Clock = { offset_s: Number.NaN, u_s: Number.NaN, source: 'none', byDay: [] };
	if (!scene.steps.some((s) => Number.isFinite(s.time_s))) return { at_s: 0, first_s: 0, clock: none, tried: [] };
	const found = findClock(scene, step);
	const pinned = plan.pins.clock_offset_s;
	if (pinned !== undefined) {
		if (Math.abs(pinned - found.offset_s) > 3 * found.u_s + 60) {
			cautions.push(
				`The cart clock's offset is set by hand to ${pinned < 0 ? '−' : ''}${span(pinned)}; the logs fit best at ${found.offset_s < 0 ? '−' : ''}${span(found.offset_s)}, give or take ${span(2 * found.u_s)}.`,
			);
		}
		return {
			at_s: pinned,
			first_s: pinned,
			clock: { offset_s: pinned, u_s: 0, source: 'pinned', byDay: [] },
			tried: found.tried,
		};
	}
	const days = clockByDay(scene, found.offset_s);
	const longest = days.reduce((a, b) => (b.steps.length > a.steps.length ? b : a));
	const main = days.length > 1 ? longest.offset_s : found.offset_s;
	const byDay: Clock['byDay'] = [];
	if (days.length > 1) {
		for (const day of days) {
			const first = scene.steps[day.steps[0] as number]!.time_s;
			byDay.push({ day: new Date(first * 1000).toISOString().slice(0, 10), offset_s: day.offset_s });
			const shift = day.offset_s - main;
			for (const i of day.steps) scene.steps[i]!.time_s += shift;
		}
		cautions.push('The cart’s clock was set anew between two days: each day has an offset of its own.');
	}
	return {
		at_s: main,
		first_s: main,
		clock: { offset_s: main, u_s: Math.hypot(found.u_s, 2 * unsure(scene)), source: 'estimated', byDay },
		tried: found.tried,
	};
}

const unsure = (scene: Scene): number => (scene.steps.some((s) => s.byMinute) ? MINUTE_U_S : DELAY_U_S);

/** The offset once more, from what a round has found: by the auger's runs, or by the fit with the habits learnt. */
export function betterClock(scene: Scene, solved: Solved, offset: Offset): { offset_s: number; u_s: number } | null {
	const auger = augerClock(scene, solved.reading);
	if (auger) return { offset_s: auger.offset_s, u_s: Math.hypot(auger.u_s, unsure(scene)) };
	if (scene.steps.length < 3) return null;
	const fit = refineClock(scene, offset.at_s);
	return { offset_s: fit.offset_s, u_s: Math.hypot(fit.u_s, 2 * unsure(scene)) };
}

/** A clock off by less is nobody's concern, seconds; one known no better than this says so. */
const NOTABLE_S = 300;
const VAGUE_S = 60;

/** What the user should know of the cart's clock. */
export function clockNotes(clock: Clock): string[] {
	if (clock.source === 'none') {
		return ['No dump has a time: their order in the cart log and their weights alone place them.'];
	}
	const notes: string[] = [];
	if (Math.abs(clock.offset_s) > NOTABLE_S) {
		const way = clock.offset_s > 0 ? 'behind' : 'ahead of';
		notes.push(`The cart's clock is ${span(clock.offset_s)} ${way} the logs': set it right before the next field.`);
	}
	if (clock.u_s > VAGUE_S) {
		notes.push(`The logs tell the cart's clock only to about ${span(2 * clock.u_s)}: a steady day shows little of it.`);
	}
	return notes;
}
