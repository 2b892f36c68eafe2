/** The user's overrides, with undo and redo. Every change is saved before the map is updated. */
import { computed, signal } from '@preact/signals';
import type { Edits } from './protocol.ts';

export interface Step {
	edits: Edits;
	/** What was changed, in words. */
	label: string;
}

const none: Edits = { pins: {}, flags: {} };

export interface History {
	past: Step[];
	/** Steps undone, the next to redo first. */
	future: Step[];
}

export const history = signal<History>({ past: [], future: [] });
/** The overrides in field.json as read, before the first step. */
export const given = signal<Edits>(none);
export const edits = computed<Edits>(() => history.value.past.at(-1)?.edits ?? given.value);
export const changed = computed(() => history.value.past.length > 0);

/** Adds a step; undone steps are dropped. */
export function step(label: string, next: Edits): void {
	history.value = { past: [...history.value.past, { edits: next, label }], future: [] };
}

/** Updates the last step, as while a slider is dragged. */
export function restep(label: string, next: Edits): void {
	const { past } = history.value;
	if (past.at(-1)?.label !== label) step(label, next);
	else history.value = { past: [...past.slice(0, -1), { edits: next, label }], future: [] };
}

export function undo(): void {
	const { past, future } = history.value;
	const lastStep = past.at(-1);
	if (lastStep) history.value = { past: past.slice(0, -1), future: [lastStep, ...future] };
}

export function redo(): void {
	const [next, ...future] = history.value.future;
	if (next) history.value = { past: [...history.value.past, next], future };
}

export function forget(now: Edits = none): void {
	given.value = now;
	history.value = { past: [], future: [] };
}
