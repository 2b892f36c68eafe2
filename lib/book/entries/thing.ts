import { groupBy } from '../../stats/group.ts';
import { BLANK, type ValuesOf } from '../values.ts';
import { type Book, canonical, compareEntries, type Entry, entryText, type Kind, type Value } from './entry.ts';
import { following } from './following.ts';

/** A value that two tablets set differently, neither having seen the other's entry. Both stay; one is shown as current. */
export interface Conflict {
	thing: string;
	key: string;
	/** The conflicting values, the current one first. */
	versions: { value: Value; entry: Entry }[];
}

/** A thing of the book: the result of its entries. */
export interface Thing<K extends Kind = Kind> {
	id: string;
	kind: K;
	/** Current values, as entered. */
	values: { readonly [key: string]: Value };
	/** The same with defaults for what was not entered. */
	v: ValuesOf[K];
	/** Voided: kept and shown, not counted. */
	struck: boolean;
	/** Its entries in the order of writing. */
	entries: readonly Entry[];
	/** Ids of its newest entries, which the next entry on it lists in `after`. */
	heads: readonly string[];
	conflicts: Conflict[];
}

const STRUCK = 'struck';

/** The things of a book: by kind, and then by id in the order in which they were first written. */
interface Shelf {
	byKind: ReadonlyMap<Kind, ReadonlyMap<string, Thing>>;
	conflicting: readonly Conflict[];
}

const shelf = following<Shelf>(freshShelf, grownShelf);

function freshShelf(book: Book): Shelf {
	const byKind = new Map<Kind, Map<string, Thing>>();
	for (const [id, entries] of groupBy(book.entries, (e) => e.thing)) {
		const t = thingOf(id, entries);
		const own = byKind.get(t.kind);
		if (own) own.set(id, t);
		else byKind.set(t.kind, new Map([[id, t]]));
	}
	return { byKind, conflicting: conflictsIn(byKind) };
}

/** The shelf with a few more entries: only the things that they are about are built again, and only their kinds are copied. */
function grownShelf(_book: Book, before: Shelf, was: Book, added: readonly Entry[]): Shelf | null {
	const last = was.entries.at(-1);
	if (!last) return null;
	const byKind = new Map(before.byKind);
	let conflictsChanged = false;
	for (const [id, own] of groupBy(added, (e) => e.thing)) {
		const old = on(before, id);
		const first = [...own].sort(compareEntries)[0]!;
		// An entry older than those already there would change the order of things.
		if (compareEntries(old ? old.entries[0]! : last, first) > 0) return null;
		const t = thingOf(id, old ? [...old.entries, ...own] : own);
		byKind.set(t.kind, new Map(byKind.get(t.kind)).set(id, t));
		conflictsChanged ||= t.conflicts.length > 0 || (old?.conflicts.length ?? 0) > 0;
	}
	return { byKind, conflicting: conflictsChanged ? conflictsIn(byKind) : before.conflicting };
}

const conflictsIn = (byKind: Shelf['byKind']): Conflict[] =>
	[...byKind.values()].flatMap((own) => [...own.values()].flatMap((t) => t.conflicts));

function on({ byKind }: Shelf, id: string): Thing | undefined {
	for (const own of byKind.values()) {
		const t = own.get(id);
		if (t) return t;
	}
	return undefined;
}

/** A thing of the book, voided or not; undefined where there is none of that id. */
export function thingById(book: Book, id: string): Thing | undefined {
	return on(shelf(book), id);
}

/** Things of one kind by id, in the order in which they were first written. Cached per book: a book never changes. */
export function thingsOf<K extends Kind>(book: Book, kind: K): ReadonlyMap<string, Thing<K>> {
	return (shelf(book).byKind.get(kind) ?? NONE) as ReadonlyMap<string, Thing<K>>;
}
const NONE: ReadonlyMap<string, Thing> = new Map();

/** All conflicts of the book. */
export function conflicts(book: Book): readonly Conflict[] {
	return shelf(book).conflicting;
}

function thingOf(id: string, entries: Entry[]): Thing {
	// Most things are written once and never changed.
	if (entries.length === 1) {
		const only = entries[0]!;
		return {
			id,
			kind: only.kind,
			values: only.set,
			v: { ...BLANK[only.kind], ...only.set },
			struck: only.set[STRUCK] === true,
			entries,
			heads: [only.id],
			conflicts: [],
		};
	}
	const sorted = [...entries].sort(compareEntries);
	const seen = ancestors(sorted);
	const keys = new Set<string>();
	for (const e of sorted) for (const k of Object.keys(e.set)) keys.add(k);

	const values: Record<string, Value> = {};
	const found: Conflict[] = [];
	for (const key of [...keys].sort()) {
		const versions = newest(
			sorted.filter((e) => Object.hasOwn(e.set, key)),
			seen,
		);
		values[key] = versions[0]!.set[key]!;
		const different = versions.filter((c, i) => versions.findIndex((d) => sameValue(c, d, key)) === i);
		if (different.length > 1)
			found.push({ thing: id, key, versions: different.map((entry) => ({ value: entry.set[key]!, entry })) });
	}
	const struck = values[STRUCK] === true;
	// Voided on one tablet and edited on another: no value differs, yet a person must decide.
	if (struck && !found.some((c) => c.key === STRUCK)) {
		const heads = newest(sorted, seen);
		const strike = heads.find((e) => e.set[STRUCK] === true);
		const edited = heads.find((e) => e.set[STRUCK] === undefined);
		if (strike && edited)
			found.push({
				thing: id,
				key: STRUCK,
				versions: [
					{ value: true, entry: strike },
					{ value: false, entry: edited },
				],
			});
	}
	const { kind } = sorted[0]!;
	return {
		id,
		kind,
		values,
		v: { ...BLANK[kind], ...values },
		struck,
		entries: sorted,
		heads: [...new Set(newest(sorted, seen).map((e) => e.id))].sort(),
		conflicts: found,
	};
}

function sameValue(a: Entry, b: Entry, key: string): boolean {
	return canonical(a.set[key]) === canonical(b.set[key]);
}

/** For each entry, the ids of every entry its writer had seen, by way of `after`. */
function ancestors(entries: Entry[]): Map<string, Set<string>> {
	const parents = new Map<string, string[]>();
	for (const e of entries) parents.set(e.id, [...(parents.get(e.id) ?? []), ...e.after]);
	const result = new Map<string, Set<string>>();
	for (const e of entries) {
		const up = new Set<string>();
		const stack = [...e.after];
		for (let id = stack.pop(); id !== undefined; id = stack.pop()) {
			if (up.has(id)) continue;
			up.add(id);
			stack.push(...(parents.get(id) ?? []));
		}
		result.set(entryText(e), up);
	}
	return result;
}

/** Entries that no other of them comes after, latest first. If they form a cycle (a damaged book), all are kept. */
function newest(entries: Entry[], seen: Map<string, Set<string>>): Entry[] {
	const top = entries.filter(
		(e) => !entries.some((f) => f !== e && f.id !== e.id && seen.get(entryText(f))!.has(e.id)),
	);
	return (top.length > 0 ? top : [...entries]).sort((a, b) => compareEntries(b, a));
}
