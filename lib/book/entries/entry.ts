/**
 * The book is a set of entries that only ever grows. An entry says what was written about one thing (a dump, a
 * truck, a ticket …), by which tablet, when, and what the writer had before their eyes. Nothing is changed in
 * place: a mend is one more entry, striking out is one more entry, and joining two books is the union of two sets.
 */

/** What the book keeps. `load` is one truck load; `reading` is what a monitor showed, `zero` a zeroed scale,
 * `event` something that parts a combine's day in two: its monitor was recalibrated, say. */
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

/** A value as it stands in an entry: plain JSON. */
export type Value = string | number | boolean | null | readonly Value[] | { readonly [key: string]: Value };

/** What an entry does to a thing. */
export const ACTS = ['add', 'mend', 'strike', 'restore'] as const;
/** One of `ACTS`. */
export type Act = (typeof ACTS)[number];

/** One line of the book. Immutable. */
export interface Entry {
	/** Unique: no two entries of any two tablets share it. */
	readonly id: string;
	/** Name of the tablet that wrote it. */
	readonly by: string;
	/** That tablet's clock, seconds since 1970, UTC. */
	readonly at_s: number;
	/** The thing it speaks of. */
	readonly thing: string;
	readonly kind: Kind;
	readonly act: Act;
	/** Ids of the newest entries on this thing that the writer had seen, sorted; empty for the first. */
	readonly after: readonly string[];
	/** The values set; those not named stay as they were. */
	readonly set: { readonly [key: string]: Value };
	/** Why it was changed, in the writer's words; empty where nothing was said. */
	readonly why: string;
}

/** Who writes, when, and under which new id: handed in, since the library has neither clock nor chance. */
export interface Stamp {
	id: string;
	by: string;
	at_s: number;
}

/** JSON with sorted keys: equal entries have equal text, whatever order their keys were written in. */
export function canonical(value: unknown): string {
	if (Array.isArray(value)) return `[${value.map(canonical).join(',')}]`;
	if (value !== null && typeof value === 'object') {
		const keys = Object.keys(value).sort();
		return `{${keys.map((k) => `${JSON.stringify(k)}:${canonical((value as Record<string, unknown>)[k])}`).join(',')}}`;
	}
	return JSON.stringify(value) ?? 'null';
}

const texts = new WeakMap<Entry, string>();

/** The entry's canonical text, remembered: an entry never changes. */
export function entryText(entry: Entry): string {
	let text = texts.get(entry);
	if (text === undefined) {
		text = canonical(entry);
		texts.set(entry, text);
	}
	return text;
}

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
