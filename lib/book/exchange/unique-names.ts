/** Names of things in files. */
import type { Book } from '../book.ts';
import { type Thing, thingsOf } from '../entries/thing.ts';
import { kept, nameOf } from '../kept.ts';

/**
 * Names that are unique in files: two tablets may both have had a dump 12. A repeated name gets the start of its
 * tablet's name, then a count.
 */
export function namer(book: Book) {
	const maps = {
		dump: unique(kept(book, 'dump')),
		offload: unique(kept(book, 'offload')),
		ticket: unique(kept(book, 'ticket')),
		load: unique(kept(book, 'load')),
		// Rows that count get their names first.
		combine: unique(
			kept(book, 'combine'),
			[...thingsOf(book, 'combine').values()].filter((x) => x.struck),
		),
	};
	return {
		dump: (d: { id: string }) => maps.dump.get(d.id) ?? d.id,
		offload: (o: { id: string }) => maps.offload.get(o.id) ?? o.id,
		ticket: (t: { id: string }) => maps.ticket.get(t.id) ?? t.id,
		load: (x: { id: string }) => maps.load.get(x.id) ?? x.id,
		combine: (id: string) => maps.combine.get(id) ?? nameOf(book, id),
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
