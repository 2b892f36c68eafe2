import { describe, expect, it } from 'vitest';
import { append, find, kept, ledger, thingById, undo, valueBefore } from '../../lib/book/index.ts';
import { allThings, dump, ground, Writer } from './build.ts';

describe('the history of a row', () => {
	it('keeps what stood before, when it was changed and why', () => {
		const w = ground(new Writer());
		const id = dump(w, 'A', 5000, null);
		const first = w.edit(id, { net_kg: 5600 }, 'read 0 for 6');
		const second = w.edit(id, { net_kg: 5060, combines: ['B'] }, 'turned the digits round');
		const t = thingById(w.book, id)!;
		expect(t.entries.map((e) => [e.act, e.set.net_kg, e.why])).toEqual([
			['add', 5000, ''],
			['mend', 5600, 'read 0 for 6'],
			['mend', 5060, 'turned the digits round'],
		]);
		expect(valueBefore(w.book, first, 'net_kg')).toBe(5000);
		expect(valueBefore(w.book, second, 'net_kg')).toBe(5600);
		expect(valueBefore(w.book, second, 'combines')).toEqual(['A']);
		expect(second.at_s).toBeGreaterThan(first.at_s);
		expect(t.values.net_kg).toBe(5060);
	});

	it('strikes out without deleting, and restores', () => {
		const w = ground(new Writer());
		const id = dump(w, 'A', 5000, null);
		w.strike(id, 'entered twice');
		expect(kept(w.book, 'dump')).toEqual([]);
		expect(find(w.book, 'dump', id)!.v.net_kg).toBe(5000);
		expect(ledger(w.book).carts.get('cart')!.level_kg).toBe(0);
		w.restore(id);
		expect(kept(w.book, 'dump')).toHaveLength(1);
		expect(thingById(w.book, id)!.entries).toHaveLength(3);
	});

	it('takes any entry back by one more entry', () => {
		const w = ground(new Writer());
		const id = dump(w, 'A', 5000, null);
		const m = w.edit(id, { net_kg: 5500, note: 'x' });
		w.put(undo(w.book, w.stamp(), m));
		expect(find(w.book, 'dump', id)!.v).toMatchObject({ net_kg: 5000, note: null });
		const s = w.strike(id);
		w.put(undo(w.book, w.stamp(), s));
		expect(thingById(w.book, id)!.struck).toBe(false);
		w.put(undo(w.book, w.stamp(), thingById(w.book, id)!.entries[0]!));
		expect(thingById(w.book, id)!.struck).toBe(true);
		expect(thingById(w.book, id)!.entries).toHaveLength(6);
	});

	it('names a thing that is not there', () => {
		const w = ground(new Writer());
		expect(() => w.edit('nobody', { name: 'x' })).toThrow(/no thing "nobody"/);
	});

	it('does not ask in which order entries come', () => {
		const w = ground(new Writer());
		const id = dump(w, 'A', 5000, null);
		w.edit(id, { net_kg: 5500 });
		const shuffled = append({ entries: [] }, ...[...w.book.entries].reverse());
		expect(allThings(shuffled)).toEqual(allThings(w.book));
	});
});
