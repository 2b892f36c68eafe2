import { remembered } from '../model/index.ts';
/** Things of a book that count, by kind, by what they belong to, and in order of time. */
import { groupBy } from '../stats/group.ts';
import type { Book } from './book.ts';
import { compareEntries, type Kind } from './entries/entry.ts';
import { type Thing, thingById, thingsOf } from './entries/thing.ts';
import type { ValuesOf } from './values.ts';

const unvoided = new WeakMap<ReadonlyMap<string, Thing>, readonly Thing[]>();

/** Things of a kind that are not voided, as an array that the caller may modify. */
export function kept<K extends Kind>(book: Book, kind: K): Thing<K>[] {
	return keptAll(book, kind).slice();
}

/** The same, shared between callers: the same array until something of the kind changes. */
export function keptAll<K extends Kind>(book: Book, kind: K): readonly Thing<K>[] {
	const all = thingsOf(book, kind);
	return remembered(unvoided, all, () => [...all.values()].filter((t) => !t.struck)) as readonly Thing<K>[];
}

/** Things of a kind that count, put into groups, each in the order of `kept`; cached until something of the kind changes. */
export function grouped<K extends Kind>(
	kind: K,
	keyOf: (v: ValuesOf[K]) => string | null,
): (book: Book) => ReadonlyMap<string | null, readonly Thing<K>[]> {
	const known = new WeakMap<readonly Thing<K>[], Map<string | null, Thing<K>[]>>();
	return (book) => {
		const list = keptAll(book, kind);
		return remembered(known, list, () => groupBy(list, (x) => keyOf(x.v)));
	};
}

const byDump = grouped('reading', (v) => v.dump);

/** What monitors showed for a dump, in the order of writing. */
export const readingsOf = (book: Book, dump: string): readonly Thing<'reading'>[] => byDump(book).get(dump) ?? [];

const byField = grouped('dump', (v) => v.field);

/** Dumps of a field in order of time. */
export function dumpsOn(book: Book, field: string): readonly Thing<'dump'>[] {
	const list = byField(book).get(field) ?? [];
	return remembered(inTime, list, () => [...list].sort(inOrder));
}
const inTime = new WeakMap<readonly Thing<'dump'>[], readonly Thing<'dump'>[]>();

type Timed = Pick<Thing, 'entries'> & { v: { time_s: number } };

/** Order of time; rows of the same second in the order in which they were written. */
export function inOrder(a: Timed, b: Timed): number {
	return a.v.time_s - b.v.time_s || compareEntries(a.entries[0]!, b.entries[0]!);
}

/** One thing by id, voided or not; null where there is none of that kind. */
export function find<K extends Kind>(book: Book, kind: K, id: string | null): Thing<K> | null {
	return id === null ? null : (thingsOf(book, kind).get(id) ?? null);
}

/** A thing's name as it is shown. */
export function nameOf(book: Book, id: string | null): string {
	const t = id === null ? undefined : thingById(book, id);
	if (!t) return '';
	const name = t.values.name ?? t.values.number ?? '';
	return typeof name === 'string' ? name : String(name);
}
