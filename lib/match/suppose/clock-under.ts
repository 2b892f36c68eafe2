import { findClock } from '../clock/find-clock.ts';
import type { Explained } from '../explained.ts';
import type { MatchInput } from '../problem/input.ts';
import { prepare } from '../problem/prepare.ts';
import { isTimed } from '../problem/problem.ts';

/** The clock's offset as another input has it, where an error of the plain one pulls it away; none without times. */
export function clockUnder(plain: Explained, input: MatchInput): number[] {
	const { problem } = prepare(input, plain);
	return isTimed(problem) ? [findClock(problem, () => {}).offset_s] : [];
}
