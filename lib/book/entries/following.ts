import type { Book, Entry } from './entry.ts';

/** The book that another one grew out of, and the entries that were added. */
interface Origin {
	from: Book;
	added: readonly Entry[];
}

const origins = new WeakMap<Book, Origin>();
/** Books for which results have been computed: later books can continue from there. */
const bases = new WeakSet<Book>();

/** With more new entries than this, computing everything again is as fast. */
const FEW = 200;

/** Records that `next` is `from` with some more entries. The chain is kept one link long, so no old book stays in memory. */
export function grown(next: Book, from: Book, added: readonly Entry[]): void {
	const before = origins.get(from);
	if (bases.has(from)) {
		origins.delete(from);
		if (added.length <= FEW) origins.set(next, { from, added });
	} else if (before && before.added.length + added.length <= FEW)
		origins.set(next, { from: before.from, added: [...before.added, ...added] });
}

/**
 * A result computed once per book: from scratch, or from the result for the book that this one grew out of. `onward`
 * returns null where only a fresh start will do. Both give equal results; a test checks it.
 */
export function following<T extends object>(
	fresh: (book: Book) => T,
	onward: (book: Book, before: T, was: Book, added: readonly Entry[]) => T | null = () => null,
): (book: Book) => T {
	const known = new WeakMap<Book, T>();
	return (book) => {
		let found = known.get(book);
		if (found !== undefined) return found;
		const origin = origins.get(book);
		const before = origin && known.get(origin.from);
		found = (before && onward(book, before, origin.from, origin.added)) ?? fresh(book);
		known.set(book, found);
		bases.add(book);
		return found;
	};
}
