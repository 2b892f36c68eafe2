/** Overrides: each control makes one step, which is saved and can be undone; the map is updated at once. */
import type { Pins, Scene } from '../../../lib/model/index.ts';
import { edits, restep, step } from '../../state/edits.ts';
import { origin } from '../../state/field.ts';

/** True where the field's files are available, so that it can be solved again. */
export const canOverride = (s: Scene): boolean => origin.value !== 'results' && s.facts.evidence !== null;

export function pin(label: string, change: (pins: Pins) => Pins, again = false): void {
	const next = { ...edits.value, pins: change(structuredClone(edits.value.pins)) };
	if (again) restep(label, next);
	else step(label, next);
}
