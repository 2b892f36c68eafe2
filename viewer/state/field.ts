/** The open field, and what is selected in it. */
import { computed, signal } from '@preact/signals';
import type { ResultDump, Scene } from '../../lib/model/index.ts';

/** What is pointed at; it is highlighted everywhere. */
export type Lit =
	| { kind: 'fill'; fills: string[] }
	| { kind: 'dump'; id: string; fills: string[] }
	| { kind: 'combine'; combine: number }
	| { kind: 'seam'; seam: number }
	| { kind: 'pair'; a: number; b: number }
	| { kind: 'record'; record: number };

export const litOfDump = (d: ResultDump): Lit => ({ kind: 'dump', id: d.id, fills: d.fill?.split('+') ?? [] });

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
/** Kept highlighted by a press (keyboard, touch). */
export const held = signal<Lit | null>(null);
export const shining = computed<Lit | null>(() => lit.value ?? held.value);

/** Selected records, or null: one byte per record, 1 = selected. */
export const selection = signal<{ label: string; mask: Uint8Array } | null>(null);

/** True where both are the same thing. */
function sameLit(a: Lit | null, b: Lit | null): boolean {
	return a === b || (a !== null && b !== null && JSON.stringify(a) === JSON.stringify(b));
}

/** Toggles whether something is kept highlighted. */
export function hold(what: Lit): void {
	held.value = sameLit(held.value, what) ? null : what;
}

/** Handlers that highlight an element: pointer and keyboard focus while they last, a press until the next. */
export function lights(what: Lit) {
	return {
		onPointerEnter: () => (lit.value = what),
		onPointerLeave: () => (lit.value = null),
		onFocus: () => (lit.value = what),
		onBlur: () => (lit.value = null),
	};
}
