import { effect, signal } from '@preact/signals';

export type View = 'map' | 'compare' | 'print' | 'book';
export type Units = 'us' | 'metric';
export type Theme = 'light' | 'dark' | 'sun';

const views: readonly View[] = ['map', 'compare', 'print', 'book'];
const themes: readonly Theme[] = ['light', 'dark', 'sun'];

function kept<T extends string>(name: string, allowed: readonly T[], otherwise: T): T {
	const found = localStorage.getItem(`steelyard.${name}`) as T | null;
	return found !== null && allowed.includes(found) ? found : otherwise;
}

/** The view at the bare address: the load book on a tablet, the map elsewhere. */
const HOME: View = import.meta.env.MODE === 'tablet' ? 'book' : 'map';

function fromHash(): View {
	const word = location.hash.replace(/^#\/?/, '').split('/')[0] as View;
	return views.includes(word) ? word : HOME;
}

/** The current view; it follows the hash of the address (`#/map`, `#/book/…`), so that back and forward work. */
export const view = signal<View>(fromHash());
addEventListener('hashchange', () => (view.value = fromHash()));

export function show(next: View): void {
	if (fromHash() !== next) location.hash = `#/${next}`;
	view.value = next;
}

const usual: Units = /-US\b/i.test(navigator.language) ? 'us' : 'metric';
export const units = signal<Units>(kept('units', ['us', 'metric'], usual));
export const theme = signal<Theme>(
	kept('theme', themes, matchMedia('(prefers-color-scheme: dark)').matches ? 'dark' : 'light'),
);

/** A value of the current theme, such as `token('--ink')`. */
export const token = (name: string): string => getComputedStyle(document.documentElement).getPropertyValue(name).trim();

effect(() => localStorage.setItem('steelyard.units', units.value));
effect(() => {
	localStorage.setItem('steelyard.theme', theme.value);
	document.documentElement.dataset.theme = theme.value;
});
