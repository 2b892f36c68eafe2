import type { Book, Entry } from './entry.ts';

/** Where a book came from: another one, by a few entries more. */
interface Origin {
	from: Book;
	added: readonly Entry[];
}

const origins = new WeakMap<Book, Origin>();
/** Books of which something has been worked out: what comes after them can carry on from there. */
const bases = new WeakSet<Book>();

/** More new entries than this, and working everything out afresh is as quick. */
const FEW = 200;

/** Notes that `next` is `from` with some entries more. The chain is kept one link long, so no old book is kept alive. */
export function grown(next: Book, from: Book, added: readonly Entry[]): void {
	const before = origins.get(from);
	if (bases.has(from)) {
		origins.delete(from);
		if (added.length <= FEW) origins.set(next, { from, added });
	} else if (before && before.added.length + added.length <= FEW)
		origins.set(next, { from: before.from, added: [...before.added, ...added] });
}

/**
 * What follows from a book, worked out once a book: afresh, or from what followed from the book that this one grew
 * out of. `onward` returns null where only a fresh start will do. Both give equal results; a test holds them to it.
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
