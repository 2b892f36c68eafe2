import { compareEntries, type Entry, entryText } from './entry.ts';

/** The book: its entries, sorted by `compareEntries`, each once. */
export interface Book {
	readonly entries: readonly Entry[];
}

export const emptyBook: Book = { entries: [] };

/** A book from entries in any order, repeats allowed. */
export function bookOf(entries: Iterable<Entry>): Book {
	const once = new Map<string, Entry>();
	for (const e of entries) once.set(entryText(e), e);
	return { entries: [...once.values()].sort(compareEntries) };
}

/** The book with more entries in it. */
export function append(book: Book, ...entries: Entry[]): Book {
	return bookOf([...book.entries, ...entries]);
}

/**
 * Joins two books: the union of their entries. The order of joining does not matter, joining twice changes nothing,
 * and no entry is lost: even two different entries that claim one id (a copied tablet) are both kept.
 */
export function mergeBooks(a: Book, b: Book): Book {
	return bookOf([...a.entries, ...b.entries]);
}

/** Two books hold the same entries. */
export function sameBook(a: Book, b: Book): boolean {
	return a.entries.length === b.entries.length && a.entries.every((e, i) => entryText(e) === entryText(b.entries[i]!));
}
