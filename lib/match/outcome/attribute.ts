import type { Deduced } from '../problem/deduced.ts';
import type { Problem } from '../problem/problem.ts';
import type { Emptying } from './emptying.ts';
import { deducedReason } from './reasons.ts';

/** Largest relative difference between a deduced weight and the grain of the unloading that it is taken for. */
const NEAR = 0.35;
/** A ticket's time is from the scale's clock, which is right to this, seconds. */
const TICKET_S = 900;

/** Gives unloadings without a dump the weights that the cart's level or tickets tell, each to the one that it fits best by the combines' factors. */
export function attribute(
	problem: Problem,
	list: readonly Emptying[],
	factor: readonly number[],
	offset_s: number,
): void {
	problem.deduced.forEach((deduced, p) => {
		if (deduced.kind === 'excess') return;
		let best: Emptying | null = null;
		let least = NEAR;
		for (const e of list) {
			if (e.assignment || e.deduced >= 0 || (deduced.combine >= 0 && deduced.combine !== e.combine)) continue;
			if (!couldBe(deduced, offset_s, e.end_s)) continue;
			const miss = Math.abs((e.account_kg * factor[e.combine]!) / deduced.kg - 1);
			if (miss < least) [best, least] = [e, miss];
		}
		if (!best) return;
		best.deduced = p;
		best.deduced_kg = deduced.kg;
		best.ticket = deduced.ticket;
		best.unweighed = deducedReason(deduced);
	});
}

/** Whether the deduction may be of an unloading at this log time. */
function couldBe({ kind, from_s, to_s }: Deduced, offset_s: number, end_s: number): boolean {
	const within = (shift: number): boolean => from_s + shift <= end_s + 60 && to_s + shift >= end_s - 60;
	return within(offset_s) || (kind === 'straight' && (within(TICKET_S) || within(-TICKET_S)));
}
