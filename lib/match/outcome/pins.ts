import { assignmentsOf, combinesOf, isAccepted } from '../beam/hypothesis.ts';
import { bestAtOffset } from '../best-at-offset.ts';
import type { MatchInput } from '../problem/input.ts';
import { prepare } from '../problem/prepare.ts';
import type { Problem } from '../problem/problem.ts';

/**
 * Cautions on dumps that the user has overridden and that the logs fit otherwise, by matching again without the overrides. The
 * overrides are kept.
 */
export function pinDisputes(input: MatchInput, pinned: Problem, offset_s: number): string[] {
	const pins = input.plan.pins.dumps ?? {};
	if (Object.keys(pins).length === 0) return [];
	const { records, book } = input;
	const plan = { ...input.plan, pins: { ...input.plan.pins, dumps: {} } };
	const { problem } = prepare({ ...input, plan }, { input, problem: pinned });
	const { hypothesis } = bestAtOffset(problem, records, offset_s, 5);
	const disputes: string[] = [];
	for (const assignment of assignmentsOf(hypothesis)) {
		const dump = book.dumps[problem.observations[assignment.observation]!.dump]!;
		const pin = pins[dump.id];
		if (!pin) continue;
		const accepted = isAccepted(assignment);
		const found = combinesOf(assignment).map((c) => records.combines[c]);
		if (pin.combine !== undefined && accepted && found.join('+') !== pin.combine) {
			disputes.push(`Dump ${dump.id} is overridden to ${pin.combine}; the logs fit ${found.join('+')} better.`);
		}
		if (pin.status === 'aside' && accepted) {
			disputes.push(`Dump ${dump.id} is overridden to not used; it fits the logs as grain from ${found.join('+')}.`);
		}
		if (pin.status !== undefined && pin.status !== 'aside' && !accepted) {
			const why = assignment.kind === 'repeat' ? 'was entered twice' : 'fits no combine’s tank';
			disputes.push(`Dump ${dump.id} is overridden to used; by the logs it ${why}.`);
		}
	}
	for (const id of Object.keys(pins)) {
		if (!book.dumps.some((d) => d.id === id))
			disputes.push(`Dump ${id} is overridden, but no row of the cart log has that id.`);
	}
	return disputes;
}
