import { remembered } from '../../model/index.ts';
/**
 * The book is a set of entries that only ever grows. An entry records what was written about one thing (a dump, a
 * truck, a ticket …), on which tablet, when, and which entries the writer had seen. Nothing is changed in place: an
 * edit is one more entry, voiding is one more entry, and joining two books is the union of two sets.
 */

/**
 * Kinds of things in the book. `load` is one truckload; `reading` is what a monitor showed; `zero` is a zeroed scale;
 * `event` divides a combine's day in two, such as a recalibration of its monitor.
 */
export const KINDS = [
	'field',
	'combine',
	'cart',
	'truck',
	'destination',
	'load',
	'dump',
	'offload',
	'zero',
	'ticket',
	'reading',
	'event',
	'mapping',
] as const;
/** One of `KINDS`. */
export type Kind = (typeof KINDS)[number];

/** A value in an entry: plain JSON. */
export type Value = string | number | boolean | null | readonly Value[] | { readonly [key: string]: Value };

/** What an entry does to a thing. `mend` edits its values. */
export const ACTS = ['add', 'mend', 'strike', 'restore'] as const;
/** One of `ACTS`. */
export type Act = (typeof ACTS)[number];

/** One line of the book. Immutable. */
export interface Entry {
	/** Unique: no two entries of any two tablets share it. */
	readonly id: string;
	/** Name of the tablet it was written on. */
	readonly by: string;
	/** That tablet's clock, seconds since 1970, UTC. */
	readonly at_s: number;
	/** The thing it is about. */
	readonly thing: string;
	readonly kind: Kind;
	readonly act: Act;
	/** Ids of the newest entries on this thing that the writer had seen, sorted; empty for the first. */
	readonly after: readonly string[];
	/** The values it sets; all others stay as they were. */
	readonly set: { readonly [key: string]: Value };
	/** The writer's reason for the change; empty where none was given. */
	readonly why: string;
}

/** Author, time and new id: passed in, since the library has no clock and no randomness. */
export interface Stamp {
	id: string;
	by: string;
	at_s: number;
}

/** JSON with sorted keys: equal entries have equal text, in whatever order their keys were written. */
export function canonical(value: unknown): string {
	if (Array.isArray(value)) return `[${value.map(canonical).join(',')}]`;
	if (value !== null && typeof value === 'object') {
		const keys = Object.keys(value).sort();
		return `{${keys.map((k) => `${JSON.stringify(k)}:${canonical((value as Record<string, unknown>)[k])}`).join(',')}}`;
	}
	return JSON.stringify(value) ?? 'null';
}

const texts = new WeakMap<Entry, string>();

/** The entry's canonical text, cached: an entry never changes. */
export const entryText = (entry: Entry): string => remembered(texts, entry, () => canonical(entry));

/** The order in which entries are kept and shown: by the writers' clocks, then by id, then by content. */
export function compareEntries(a: Entry, b: Entry): number {
	if (a.at_s !== b.at_s) return a.at_s - b.at_s;
	if (a.id !== b.id) return a.id < b.id ? -1 : 1;
	const ta = entryText(a);
	const tb = entryText(b);
	return ta < tb ? -1 : ta > tb ? 1 : 0;
}

/** The book: its entries, sorted by `compareEntries`, each once. */
export interface Book {
	readonly entries: readonly Entry[];
}
