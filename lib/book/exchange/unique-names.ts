/** Names of things in files. */
import type { Book } from '../book.ts';
import { type Thing, thingsOf } from '../entries/thing.ts';
import { kept, nameOf } from '../kept.ts';

/**
 * Names that are unique in files: two tablets may both have had a dump 12. A repeated name gets the start of its
 * tablet's name, then a count.
 */
export function namer(book: Book) {
	const of = (kind: 'dump' | 'offload' | 'ticket' | 'load') => {
		const names = unique(kept(book, kind));
		return ({ id }: { id: string }) => names.get(id) ?? id;
	};
	// Rows that count get their names first.
	const struck = [...thingsOf(book, 'combine').values()].filter((x) => x.struck);
	const combines = unique(kept(book, 'combine'), struck);
	return {
		dump: of('dump'),
		offload: of('offload'),
		ticket: of('ticket'),
		load: of('load'),
		combine: (id: string) => combines.get(id) ?? nameOf(book, id),
	};
}

function unique(list: readonly Thing[], struck: readonly Thing[] = []): Map<string, string> {
	const taken = new Set<string>();
	const names = new Map<string, string>();
	const byId = (a: { id: string }, b: { id: string }) => (a.id < b.id ? -1 : 1);
	for (const x of [...[...list].sort(byId), ...[...struck].sort(byId)]) {
		const v = x.v as { name?: string; number?: string };
		const plain = (v.name ?? v.number ?? '').trim() || x.id;
		let name = plain;
		if (taken.has(name)) name = `${plain}-${x.entries[0]!.by}`;
		for (let i = 2; taken.has(name); i++) name = `${plain}-${i}`;
		taken.add(name);
		names.set(x.id, name);
	}
	return names;
}
