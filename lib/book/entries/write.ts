import type { Book } from '../book.ts';
import { canonical, type Entry, type Kind, type Stamp, type Value } from './entry.ts';
import { type Thing, thingById } from './thing.ts';

/** Entries that add, edit, void and restore things. Each function returns the entry; `append` puts it into the book. */

/** A new thing. */
export function add(stamp: Stamp, kind: Kind, thing: string, set: { readonly [key: string]: Value }): Entry {
	return { ...stamp, thing, kind, act: 'add', after: [], set, why: '' };
}

/** Changes values of a thing. Values that would not change are left out, unless they settle a conflict. */
export function edit(
	book: Book,
	stamp: Stamp,
	thing: string,
	set: { readonly [key: string]: Value },
	why: string,
): Entry {
	const t = known(book, thing);
	const conflicting = new Set(t.conflicts.map((c) => c.key));
	const changed: Record<string, Value> = {};
	for (const [k, v] of Object.entries(set))
		if (conflicting.has(k) || canonical(t.values[k] ?? null) !== canonical(v)) changed[k] = v;
	return { ...stamp, thing, kind: t.kind, act: 'mend', after: t.heads, set: changed, why };
}

/** Voids a thing. It stays in the book and is not counted. */
export function strike(book: Book, stamp: Stamp, thing: string, why: string): Entry {
	const t = known(book, thing);
	return { ...stamp, thing, kind: t.kind, act: 'strike', after: t.heads, set: { struck: true }, why };
}

/** Restores a voided thing. */
export function restore(book: Book, stamp: Stamp, thing: string, why: string): Entry {
	const t = known(book, thing);
	return { ...stamp, thing, kind: t.kind, act: 'restore', after: t.heads, set: { struck: false }, why };
}

/** The entry that undoes another one: what it added is voided, what it changed becomes what it was before. */
export function undo(book: Book, stamp: Stamp, entry: Entry): Entry {
	const why = 'taken back';
	if (entry.act === 'add') return strike(book, stamp, entry.thing, why);
	if (entry.act === 'strike') return restore(book, stamp, entry.thing, why);
	if (entry.act === 'restore') return strike(book, stamp, entry.thing, why);
	const before: Record<string, Value> = {};
	for (const key of Object.keys(entry.set)) before[key] = valueBefore(book, entry, key);
	return edit(book, stamp, entry.thing, before, why);
}

/** The value of a key before an entry was written; null where there was none. */
export function valueBefore(book: Book, entry: Entry, key: string): Value {
	const t = known(book, entry.thing);
	let value: Value = null;
	for (const e of t.entries) {
		if (e.id === entry.id) break;
		if (Object.hasOwn(e.set, key)) value = e.set[key]!;
	}
	return value;
}

function known(book: Book, thing: string): Thing {
	const t = thingById(book, thing);
	if (!t) throw new RangeError(`The book has no thing "${thing}".`);
	return t;
}
