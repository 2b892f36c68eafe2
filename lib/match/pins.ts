import type { Dump } from '../model/index.ts';
import type { MatchInput } from './index.ts';
import { prepare } from './prepare.ts';
import { choicesOf } from './reading.ts';
import type { Scene } from './scene.ts';
import { solve } from './solve.ts';

/**
 * Where a dump was decided by hand and the logs say otherwise: the same alignment once more without those decisions.
 * The user is right; this only tells.
 */
export function pinDisputes(input: MatchInput, pinned: Scene, offset_s: number): string[] {
	const pins = input.plan.pins.dumps ?? {};
	if (Object.keys(pins).length === 0) return [];
	const { records, book } = input;
	const plan = { ...input.plan, pins: { ...input.plan.pins, dumps: {} } };
	const { scene } = prepare({ ...input, plan });
	scene.habits = pinned.habits;
	const { reading } = solve(scene, records, offset_s, 5);
	const disputes: string[] = [];
	for (const choice of choicesOf(reading)) {
		const dump = book.dumps[scene.steps[choice.step]!.dump] as Dump;
		const pin = pins[dump.id];
		if (!pin) continue;
		const believed = choice.kind === 'normal' || choice.kind === 'mixed';
		const found = [choice.combine, choice.other].filter((c) => c >= 0).map((c) => records.combines[c]);
		if (pin.combine !== undefined && believed && found.join('+') !== pin.combine) {
			disputes.push(`${dump.id} is set to ${pin.combine} by hand; the logs say ${found.join('+')}.`);
		}
		if (pin.status === 'aside' && believed) {
			disputes.push(`${dump.id} is set aside by hand; the logs would use it, from ${found.join('+')}.`);
		}
		if (pin.status !== undefined && pin.status !== 'aside' && !believed) {
			const why = choice.kind === 'repeat' ? 'was saved twice' : 'fits no combine’s tank';
			disputes.push(`${dump.id} is used by hand; by the logs it ${why}.`);
		}
	}
	for (const id of Object.keys(pins)) {
		if (!book.dumps.some((d) => d.id === id))
			disputes.push(`${id} is decided by hand, and no row of the cart log has that id.`);
	}
	return disputes;
}
