import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
	append,
	type Book,
	bookOf,
	conflicts,
	type Entry,
	kept,
	ledger,
	mergeBooks,
	pieces,
	readingsOf,
	thingsOf,
} from '../../lib/book/index.ts';
import { allThings, ground, Writer } from './build.ts';

/** One thing that somebody does to the book; numbers choose among what is there. */
const anyAct = fc.record({
	do: fc.constantFrom(
		'dump',
		'net',
		'empty',
		'part',
		'zero',
		'ticket',
		'reading',
		'mend',
		'time',
		'cart',
		'strike',
		'restore',
		'load',
		'late',
	),
	n: fc.nat(1000),
	kg: fc.integer({ min: -500, max: 9000 }),
});

/** Everything that is carried on by increments, as plain values. */
const worked = (book: Book) => ({
	things: allThings(book),
	dumps: kept(book, 'dump').map((d) => d.v),
	conflicts: conflicts(book),
	weighings: ledger(book).weighings,
	byId: [...ledger(book).byId].sort(([a], [b]) => (a < b ? -1 : 1)),
	carts: [...ledger(book).carts],
	loads: [...ledger(book).loads],
	pieces: pieces(book),
});

function act(w: Writer, a: { do: string; n: number; kg: number }): void {
	const some = (kind: 'dump' | 'offload' | 'load' | 'zero' | 'ticket') => {
		const all = [...thingsOf(w.book, kind).values()];
		return all.length === 0 ? null : all[a.n % all.length]!.id;
	};
	const cart = a.n % 5 === 0 ? 'other' : 'cart';
	const level = ledger(w.book).carts.get(cart)?.level_kg ?? 0;
	const row = some(a.n % 3 === 0 ? 'offload' : 'dump');
	switch (a.do) {
		case 'dump':
			w.add('dump', { cart, field: 'north', combines: ['A'], reading_kg: level + a.kg });
			break;
		case 'late':
			w.add('dump', { cart, field: 'north', combines: ['B'], net_kg: a.kg, time_s: w.now_s - 60 * (a.n % 40) - 1 });
			break;
		case 'net':
			w.add('dump', { cart, field: 'north', combines: ['B'], net_kg: a.kg });
			break;
		case 'empty':
			w.add('offload', { cart, load: some('load'), reading_kg: 0 });
			break;
		case 'part':
			w.add('offload', { cart, load: some('load'), net_kg: a.kg });
			break;
		case 'zero':
			w.add('zero', { cart, reading_kg: a.n % 2 === 0 ? 0 : a.kg });
			break;
		case 'ticket':
			w.add('ticket', { load: some('load'), net_kg: a.kg, moisture_pct: 17 });
			break;
		case 'reading':
			w.add('reading', { combine: 'A', dump: some('dump'), field: 'north', value: a.kg, unit: 'kg', moisture_pct: 18 });
			break;
		case 'load':
			w.add('load', { number: String(a.n), truck: 'red', opened_s: w.now_s });
			break;
		case 'mend':
			if (row) w.edit(row, a.n % 2 === 0 ? { net_kg: a.kg, reading_kg: null } : { reading_kg: a.kg });
			break;
		case 'time':
			if (row) w.edit(row, { time_s: w.now_s - 60 * (a.n % 60) });
			break;
		case 'cart':
			if (row) w.edit(row, { cart });
			break;
		case 'strike': {
			const id = some((['dump', 'offload', 'load', 'ticket', 'zero'] as const)[a.n % 5]!);
			if (id) w.strike(id);
			break;
		}
		case 'restore': {
			const id = allThings(w.book).find((t) => t.struck)?.id;
			if (id) w.restore(id);
		}
	}
}

describe('what is carried on by increments', () => {
	it('equals what is worked out afresh, whatever was done in whatever order', () => {
		fc.assert(
			fc.property(fc.array(anyAct, { minLength: 1, maxLength: 40 }), (acts) => {
				const w = ground(new Writer('cart'));
				for (const a of acts) {
					act(w, a);
					// Asked now and then, as a page would: the steps between are carried on together.
					if (a.n % 3 !== 0) worked(w.book);
				}
				expect(worked(w.book)).toEqual(worked(bookOf([...w.book.entries].reverse())));
			}),
			{ numRuns: 150 },
		);
	});

	it('equals it when another tablet’s entries come in between', () => {
		fc.assert(
			fc.property(
				fc.array(anyAct, { minLength: 4, maxLength: 20 }),
				fc.array(anyAct, { minLength: 4, maxLength: 20 }),
				(x, y) => {
					const start = ground(new Writer('cart'));
					const a = new Writer('a', start.now_s, start.book);
					const b = new Writer('b', start.now_s + 7, start.book);
					for (const z of x) act(a, z);
					for (const z of y) act(b, z);
					worked(a.book);
					worked(b.book);
					const both = mergeBooks(a.book, b.book);
					expect(worked(both)).toEqual(worked(bookOf([...b.book.entries, ...a.book.entries])));
					expect(worked(mergeBooks(b.book, a.book))).toEqual(worked(both));
				},
			),
			{ numRuns: 60 },
		);
	});

	it('leaves the book that it grew from as it was', () => {
		const w = ground(new Writer('cart'));
		w.add('dump', { cart: 'cart', field: 'north', combines: ['A'], reading_kg: 6000 });
		const load = w.add('load', { number: '1', truck: 'red' });
		w.add('offload', { cart: 'cart', load, net_kg: 2000 });
		const before = w.book;
		const was = structuredClone(worked(before));
		w.add('offload', { cart: 'cart', load, net_kg: 4000 });
		expect(ledger(w.book).loads.get(load)!.dumps_kg).toBe(6000);
		expect(worked(before)).toEqual(was);
	});
});

it('a season of 10,000 dumps takes one more in less than a quarter of the time of a fresh start', () => {
	const entries: Entry[] = [];
	const put = (kind: Entry['kind'], thing: string, set: Entry['set']) =>
		entries.push({
			id: `x.${entries.length}`,
			by: 'x',
			at_s: entries.length,
			thing,
			kind,
			act: 'add',
			after: [],
			set,
			why: '',
		});
	put('cart', 'c', { name: 'Cart' });
	for (let i = 0; i < 10_000; i++) {
		put('dump', `d${i}`, { time_s: i * 60, cart: 'c', field: 'f', combines: ['A'], net_kg: 5000 });
		put('reading', `r${i}`, { time_s: i * 60, combine: 'A', dump: `d${i}`, value: 5000, unit: 'kg' });
		if (i % 3 === 2) {
			put('load', `l${i}`, { number: String(i) });
			put('offload', `o${i}`, { time_s: i * 60 + 30, cart: 'c', load: `l${i}`, reading_kg: 0 });
		}
	}
	const took = (work: () => unknown) => {
		const from = performance.now();
		work();
		return performance.now() - from;
	};
	const whole = bookOf(entries);
	const afresh = Array.from({ length: 5 }, () => took(() => ledger(bookOf(whole.entries))));
	let book = whole;
	ledger(book);
	const onward = Array.from({ length: 20 }, (_, i) => {
		const [id, thing] = [`y.${i}`, `n${i}`];
		const set = { time_s: 1e6 + i, cart: 'c', field: 'f', combines: ['A'], net_kg: 5000 };
		const entry: Entry = { id, by: 'x', at_s: 1e6 + i, thing, kind: 'dump', act: 'add', after: [], set, why: '' };
		return took(() => {
			book = append(book, entry);
			ledger(book);
			readingsOf(book, thing);
		});
	});
	// The shortest ones, so that a busy machine does not matter.
	expect(Math.min(...onward)).toBeLessThan(Math.min(...afresh) / 4);
});
