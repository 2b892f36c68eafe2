import { bisector } from 'd3-array';
import { type Book, compareEntries, type Entry, entryText } from './entries/entry.ts';
import { grown } from './entries/following.ts';

export type { Book } from './entries/entry.ts';

/** A book without entries. */
export const emptyBook: Book = { entries: [] };

/** A book from entries in any order; repeats are allowed. */
export function bookOf(entries: Iterable<Entry>): Book {
	const byId = new Map<string, Entry | Entry[]>();
	const once: Entry[] = [];
	let sorted = true;
	for (const e of entries) {
		// Compare texts only where two entries have the same id.
		const there = byId.get(e.id);
		if (there === undefined) byId.set(e.id, e);
		else {
			const list = Array.isArray(there) ? there : [there];
			if (list.some((x) => x === e || entryText(x) === entryText(e))) continue;
			byId.set(e.id, [...list, e]);
		}
		const last = once.at(-1);
		if (last !== undefined && sorted && compareEntries(last, e) > 0) sorted = false;
		once.push(e);
	}
	return { entries: sorted ? once : once.sort(compareEntries) };
}

/** The book with more entries in it; the same object where it already has them all. */
export function append(book: Book, ...added: Entry[]): Book {
	const entries = book.entries.slice();
	const fresh: Entry[] = [];
	for (const e of added) {
		const at = placeOf(entries, e);
		if (at === null) continue;
		if (at === entries.length) entries.push(e);
		else entries.splice(at, 0, e);
		fresh.push(e);
	}
	if (fresh.length === 0) return book;
	const next = { entries };
	grown(next, book, fresh);
	return next;
}

const byOrder = bisector(compareEntries);

/** Position at which an entry belongs; null where it is already there. */
function placeOf(entries: readonly Entry[], e: Entry): number | null {
	const last = entries.at(-1);
	// Most entries are the newest.
	if (last === undefined || compareEntries(last, e) < 0) return entries.length;
	const at = byOrder.left(entries, e);
	return compareEntries(entries[at]!, e) === 0 ? null : at;
}

/**
 * Joins two books: the union of their entries. The order of joining does not matter, joining twice changes nothing,
 * and no entry is lost: two different entries with the same id (from a copied tablet) are both kept.
 */
export function mergeBooks(a: Book, b: Book): Book {
	if (b.entries.length <= 64) return append(a, ...b.entries);
	const entries: Entry[] = [];
	const fresh: Entry[] = [];
	let [i, k] = [0, 0];
	while (i < a.entries.length || k < b.entries.length) {
		const [x, y] = [a.entries[i], b.entries[k]];
		const order = x === undefined ? 1 : y === undefined ? -1 : x === y ? 0 : compareEntries(x, y);
		if (order > 0) fresh.push(y!);
		entries.push(order > 0 ? y! : x!);
		if (order <= 0) i++;
		if (order >= 0) k++;
	}
	if (fresh.length === 0) return a;
	const next = { entries };
	grown(next, a, fresh);
	return next;
}
