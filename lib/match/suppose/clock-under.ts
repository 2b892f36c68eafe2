import { findClock } from '../clock/find-clock.ts';
import type { Explained } from '../explained.ts';
import type { MatchInput } from '../problem/input.ts';
import { prepare } from '../problem/prepare.ts';

/** The clock's offset as another input has it, where an error of the plain one pulls it away; none without times. */
export function clockUnder(plain: Explained, input: MatchInput): number[] {
	const { problem } = prepare(input, plain);
	return problem.observations.some((o) => Number.isFinite(o.time_s)) ? [findClock(problem, () => {}).offset_s] : [];
}
