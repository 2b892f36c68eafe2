/** The field that is open, and what is being looked at in it. */
import { computed, signal } from '@preact/signals';
import type { Scene } from '../../lib/model/index.ts';

/** What is pointed at, anywhere: it lights up everywhere. */
export type Lit =
	| { kind: 'fill'; fills: string[] }
	| { kind: 'dump'; id: string; fills: string[] }
	| { kind: 'combine'; combine: number }
	| { kind: 'seam'; seam: number }
	| { kind: 'pair'; a: number; b: number }
	| { kind: 'record'; record: number };

export type Status =
	| { kind: 'empty' }
	| { kind: 'working'; stage: string; share: number }
	| { kind: 'open' }
	| { kind: 'fault'; faults: string[] };

export const scene = signal<Scene | null>(null);
export const status = signal<Status>({ kind: 'empty' });
/** Where the open field came from: served by `view`, dropped source files, or a folder of results. */
export const origin = signal<'served' | 'files' | 'results' | null>(null);

export const lit = signal<Lit | null>(null);
/** Kept lit by a press, where a mere pointer would not do (keyboard, touch). */
export const held = signal<Lit | null>(null);
export const shining = computed<Lit | null>(() => lit.value ?? held.value);

/** Chosen records, or null: one byte each, 1 = chosen. */
export const selection = signal<{ label: string; mask: Uint8Array } | null>(null);

/** The two of a kind? */
export function sameLit(a: Lit | null, b: Lit | null): boolean {
	return a === b || (a !== null && b !== null && JSON.stringify(a) === JSON.stringify(b));
}

/** Pressed: hold it lit, or let go if it is held already. */
export function hold(what: Lit): void {
	held.value = sameLit(held.value, what) ? null : what;
}

/** What lights an element up: pointer and keyboard focus light, a press holds. */
export function lights(what: Lit) {
	return {
		onPointerEnter: () => (lit.value = what),
		onPointerLeave: () => (lit.value = null),
		onFocus: () => (lit.value = what),
		onBlur: () => (lit.value = null),
	};
}
