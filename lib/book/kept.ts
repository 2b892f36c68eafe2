/** Things of a book that count, by kind, by what they belong to, and in order of time. */
import { groupBy } from '../stats/group.ts';
import type { Book } from './book.ts';
import { compareEntries, type Kind } from './entries/entry.ts';
import { type Thing, things, thingsOf } from './entries/thing.ts';
import { type ValuesOf, valuesOf } from './values.ts';

/** A thing that counts, with its values. */
export interface Kept<K extends Kind> {
	id: string;
	thing: Thing;
	v: ValuesOf[K];
}

const keptOf = new WeakMap<readonly Thing[], readonly Kept<Kind>[]>();

/** Things of a kind that are not voided, as an array that the caller may modify. */
export function kept<K extends Kind>(book: Book, kind: K): Kept<K>[] {
	return keptAll(book, kind).slice();
}

/** The same, shared between callers: the same array until something of the kind changes. */
export function keptAll<K extends Kind>(book: Book, kind: K): readonly Kept<K>[] {
	const all = thingsOf(book, kind);
	let list = keptOf.get(all);
	if (!list) {
		list = all.filter((t) => !t.struck).map((thing) => ({ id: thing.id, thing, v: valuesOf(thing, kind) }));
		keptOf.set(all, list);
	}
	return list as readonly Kept<K>[];
}

/** Things of a kind that count, put into groups, each in the order of `kept`; cached until something of the kind changes. */
export function grouped<K extends Kind>(
	kind: K,
	keyOf: (v: ValuesOf[K]) => string | null,
): (book: Book) => ReadonlyMap<string | null, readonly Kept<K>[]> {
	const known = new WeakMap<readonly Kept<K>[], Map<string | null, Kept<K>[]>>();
	return (book) => {
		const list = keptAll(book, kind);
		let groups = known.get(list);
		if (!groups) {
			groups = groupBy(list, (x) => keyOf(x.v));
			known.set(list, groups);
		}
		return groups;
	};
}

const byDump = grouped('reading', (v) => v.dump);

/** What monitors showed for a dump, in the order of writing. */
export const readingsOf = (book: Book, dump: string): readonly Kept<'reading'>[] => byDump(book).get(dump) ?? [];

const byField = grouped('dump', (v) => v.field);

/** Dumps of a field in order of time. */
export function dumpsOn(book: Book, field: string): readonly Kept<'dump'>[] {
	const list = byField(book).get(field) ?? [];
	let sorted = inTime.get(list);
	if (!sorted) {
		sorted = [...list].sort(inOrder);
		inTime.set(list, sorted);
	}
	return sorted;
}
const inTime = new WeakMap<readonly Kept<'dump'>[], readonly Kept<'dump'>[]>();

/** Order of time; rows of the same second in the order in which they were written. */
export function inOrder(
	a: { id: string; thing: Thing; v: { time_s: number } },
	b: { id: string; thing: Thing; v: { time_s: number } },
): number {
	return a.v.time_s - b.v.time_s || compareEntries(a.thing.entries[0]!, b.thing.entries[0]!);
}

/** One thing by id, voided or not; null where there is none of that kind. */
export function find<K extends Kind>(book: Book, kind: K, id: string | null): Kept<K> | null {
	const thing = id === null ? undefined : things(book).get(id);
	return thing && thing.kind === kind ? { id: thing.id, thing, v: valuesOf(thing, kind) } : null;
}

/** A thing's name as it is shown. */
export function nameOf(book: Book, id: string | null): string {
	const thing = id === null ? undefined : things(book).get(id);
	if (!thing) return '';
	const name = thing.values.name ?? thing.values.number ?? '';
	return typeof name === 'string' ? name : String(name);
}
