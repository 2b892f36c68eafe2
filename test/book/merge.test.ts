import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
	append,
	type Book,
	bookOf,
	conflicts,
	type Entry,
	emptyBook,
	KINDS,
	ledger,
	mergeBooks,
	pieces,
	readBackup,
	thingById,
	thingsOf,
	writeBackup,
} from '../../lib/book/index.ts';
import { allThings, dump, ground, Writer } from './build.ts';

/** Any entry at all, also such as no tablet of ours would write: shared ids, rings, unknown things. */
const anyEntry: fc.Arbitrary<Entry> = fc.record({
	id: fc.constantFrom('a1', 'a2', 'a3', 'b1', 'b2', 'c1'),
	by: fc.constantFrom('a', 'b', 'c'),
	at_s: fc.integer({ min: 0, max: 5 }),
	thing: fc.constantFrom('x', 'y', 'z'),
	kind: fc.constantFrom(...KINDS),
	act: fc.constantFrom('add', 'mend', 'strike', 'restore'),
	after: fc.subarray(['a1', 'a2', 'a3', 'b1', 'b2', 'c1']),
	set: fc.dictionary(
		fc.constantFrom('net_kg', 'note', 'struck', 'combines', 'split'),
		fc.oneof(fc.integer(), fc.string(), fc.boolean(), fc.constant(null), fc.array(fc.string(), { maxLength: 2 })),
		{ maxKeys: 3 },
	),
	why: fc.string(),
});
const anyBook: fc.Arbitrary<Book> = fc.array(anyEntry, { maxLength: 12 }).map(bookOf);

/** What a tablet does: one act on one of the things. Two tablets do theirs without knowing of each other. */
const anyActs = fc.array(
	fc.record({
		what: fc.constantFrom('dump', 'weight', 'note', 'strike', 'restore'),
		on: fc.nat(5),
		value: fc.integer({ min: 1, max: 20_000 }),
	}),
	{ maxLength: 15 },
);
type Acts = { what: string; on: number; value: number }[];

function tablet(by: string, start: Book, acts: Acts, now_s: number): Writer {
	const w = new Writer(by, now_s, start);
	for (const a of acts) {
		const dumps = [...thingsOf(w.book, 'dump').values()];
		const on = dumps[a.on % Math.max(1, dumps.length)];
		if (a.what === 'dump' || !on) dump(w, a.value % 2 ? 'A' : 'B', a.value, null);
		else if (a.what === 'weight') w.edit(on.id, { net_kg: a.value });
		else if (a.what === 'note') w.edit(on.id, { note: `n${a.value}` });
		else if (a.what === 'strike') w.strike(on.id);
		else w.restore(on.id);
	}
	return w;
}

describe('joining two books', () => {
	it('does not ask in which order, nor how often', () => {
		fc.assert(
			fc.property(anyBook, anyBook, anyBook, (a, b, c) => {
				expect(mergeBooks(a, b)).toEqual(mergeBooks(b, a));
				expect(mergeBooks(mergeBooks(a, b), c)).toEqual(mergeBooks(a, mergeBooks(b, c)));
				expect(mergeBooks(a, a)).toEqual(a);
				expect(mergeBooks(a, emptyBook)).toEqual(a);
				expect(writeBackup(mergeBooks(a, b))).toBe(writeBackup(mergeBooks(b, a)));
			}),
			{ numRuns: 300 },
		);
	});

	it('loses no entry of either, and reads whole whatever is in it', () => {
		fc.assert(
			fc.property(anyBook, anyBook, (a, b) => {
				const joined = mergeBooks(a, b);
				for (const e of [...a.entries, ...b.entries]) expect(joined.entries).toContainEqual(e);
				// Nothing of this may throw, whatever a broken tablet wrote.
				expect(allThings(joined).length).toBeLessThanOrEqual(3);
				conflicts(joined);
			}),
			{ numRuns: 300 },
		);
	});

	it('gives the same state, weights and grain in either order', () => {
		fc.assert(
			fc.property(anyActs, anyActs, anyActs, (before, one, two) => {
				const start = tablet('cart', ground(new Writer('cart')).book, before, 1_790_000_000);
				const a = tablet('a', start.book, one, start.now_s);
				const b = tablet('b', start.book, two, start.now_s + 7);
				const ab = mergeBooks(a.book, b.book);
				const ba = mergeBooks(b.book, a.book);
				expect(allThings(ab)).toEqual(allThings(ba));
				expect(ledger(ab)).toEqual(ledger(ba));
				expect(pieces(ab)).toEqual(pieces(ba));
			}),
			{ numRuns: 100 },
		);
	});

	it('shows every value that both changed, with both claims, and nothing else', () => {
		fc.assert(
			fc.property(fc.integer({ min: 1, max: 20_000 }), fc.integer({ min: 1, max: 20_000 }), (x, y) => {
				const start = ground(new Writer('cart'));
				const id = dump(start, 'A', 5000, null);
				const a = new Writer('a', start.now_s, start.book);
				const b = new Writer('b', start.now_s + 3, start.book);
				a.edit(id, { net_kg: x });
				b.edit(id, { net_kg: y, note: 'wet spot' });
				const joined = mergeBooks(a.book, b.book);
				const found = conflicts(joined);
				// A tablet that keyed what stood there already changed nothing.
				if (x === y || x === 5000 || y === 5000) expect(found).toEqual([]);
				else {
					expect(found).toHaveLength(1);
					expect(found[0]!.versions.map((c) => c.value).sort()).toEqual([x, y].sort());
				}
				expect(thingById(joined, id)!.values.note).toBe('wet spot');
			}),
		);
	});

	it('shows a row struck out on one tablet and mended on the other', () => {
		const start = ground(new Writer('cart'));
		const id = dump(start, 'A', 5000, null);
		const a = new Writer('a', start.now_s, start.book);
		const b = new Writer('b', start.now_s, start.book);
		a.strike(id);
		b.edit(id, { net_kg: 5100 });
		const found = conflicts(mergeBooks(a.book, b.book));
		expect(found.map((c) => c.key)).toEqual(['struck']);
		expect(found[0]!.versions.map((c) => c.entry.by).sort()).toEqual(['a', 'b']);
	});

	it('settles a conflict by one more entry, which keeps both claims in the history', () => {
		const start = ground(new Writer('cart'));
		const id = dump(start, 'A', 5000, null);
		const a = new Writer('a', start.now_s, start.book);
		const b = new Writer('b', start.now_s, start.book);
		a.edit(id, { net_kg: 5100 });
		b.edit(id, { net_kg: 5200 });
		const c = new Writer('c', start.now_s + 900, mergeBooks(a.book, b.book));
		c.edit(id, { net_kg: 5200 }, 'looked at the printed slip');
		expect(conflicts(c.book)).toEqual([]);
		const t = thingById(c.book, id)!;
		expect(t.values.net_kg).toBe(5200);
		expect(t.entries.map((e) => e.set.net_kg)).toEqual([5000, 5100, 5200, 5200]);
	});

	it('keeps two entries that claim one id', () => {
		const w = ground(new Writer('cart'));
		const e = w.book.entries.at(-1)!;
		const other = { ...e, set: { name: 'Blue', room_kg: 1 } };
		const joined = mergeBooks(w.book, bookOf([other]));
		expect(joined.entries).toHaveLength(w.book.entries.length + 1);
		expect(conflicts(joined).map((c) => c.key)).toContain('name');
	});
});

describe('a backup', () => {
	it('gives the same book back', () => {
		fc.assert(
			fc.property(anyBook, (b) => {
				expect(readBackup(writeBackup(b))).toEqual(b);
			}),
		);
	});

	it('is refused as a whole where an entry is damaged, naming it', () => {
		const w = ground(new Writer());
		const text = writeBackup(w.book).replace('"kind":"cart"', '"kind":"wagon"');
		expect(() => readBackup(text, 'b.json')).toThrow(/b\.json, row 3, column kind/);
		expect(() => readBackup(text.slice(0, 300))).toThrow(/JSON is incomplete/);
		expect(() => readBackup('{"schema":"other/1"}')).toThrow(/steelyard\.book\/1/);
	});
});

it('append sorts late entries in', () => {
	const w = ground(new Writer());
	const [first, ...rest] = w.book.entries;
	expect(append(bookOf(rest), first!).entries[0]).toBe(first);
});
