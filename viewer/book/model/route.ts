/** Which of the book's pages is shown; it follows the address (`#/book/tickets`), so that Back works. */
import { signal } from '@preact/signals';

export const PAGES = ['now', 'answer', 'tickets', 'rows', 'totals', 'fields', 'keep', 'setup', 'safety'] as const;
export type PageName = (typeof PAGES)[number];

function fromHash(): PageName {
	const word = location.hash.split('/')[2] as PageName;
	return PAGES.includes(word) ? word : 'now';
}

export const page = signal<PageName>(fromHash());
addEventListener('hashchange', () => {
	if (location.hash.startsWith('#/book')) page.value = fromHash();
});

export function go(to: PageName): void {
	location.hash = `#/book/${to}`;
}

/** The row whose sheet is open over the page. */
export const opened = signal<string | null>(null);
