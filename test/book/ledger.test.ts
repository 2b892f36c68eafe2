import { describe, expect, it } from 'vitest';
import { ledger, reconcile } from '../../lib/book/index.ts';
import { dump, ground, truckLoad, Writer } from './build.ts';

function byReadings() {
	const w = ground(new Writer());
	const row = (combine: string, reading_kg: number) =>
		w.add('dump', { number: '', cart: 'cart', field: 'north', combines: [combine], reading_kg });
	return { w, row };
}

describe('the running reading', () => {
	it('gives each net as the difference to the reading before', () => {
		const { w, row } = byReadings();
		const a = row('A', 6200);
		const b = row('B', 13_050);
		const load = w.add('load', { number: '1', truck: 'red' });
		const off = w.add('offload', { number: 'O1', cart: 'cart', load, reading_kg: 50 });
		const l = ledger(w.book);
		expect([a, b, off].map((id) => l.byId.get(id)!.net_kg)).toEqual([6200, 6850, 13_000]);
		expect(l.carts.get('cart')!.level_kg).toBe(50);
		expect(l.loads.get(load)!.cart_kg).toBe(13_000);
	});

	it('lets a mended reading move its neighbor too, and a struck row bridge over', () => {
		const { w, row } = byReadings();
		const a = row('A', 6200);
		const b = row('B', 13_050);
		w.edit(a, { reading_kg: 6300 });
		expect(ledger(w.book).byId.get(b)!.net_kg).toBe(6750);
		w.strike(a);
		expect(ledger(w.book).byId.get(b)!.net_kg).toBe(13_050);
	});

	it('goes on from a zeroed scale', () => {
		const { w, row } = byReadings();
		row('A', 6200);
		w.add('zero', { cart: 'cart', reading_kg: 6000 });
		const b = row('B', 12_000);
		expect(ledger(w.book).byId.get(b)!.net_kg).toBe(6000);
	});

	it('marks a reading that went the wrong way and a cart fuller than it holds', () => {
		const { w, row } = byReadings();
		row('A', 6200);
		const b = row('B', 5000);
		const c = row('B', 25_000);
		const l = ledger(w.book);
		expect(l.byId.get(b)).toMatchObject({ net_kg: 0, odd: ['wrong way'] });
		expect(l.byId.get(c)!.odd).toEqual(['above size']);
		expect(reconcile(w.book).odd.map((o) => o.id)).toEqual([b, c]);
	});
});

describe('what is on a truck', () => {
	it('is shared out by weight where the cart was not emptied', () => {
		const w = ground(new Writer());
		const a = dump(w, 'A', 6000, null);
		const b = dump(w, 'B', 4000, null);
		const first = truckLoad(w, '1', 5000, null);
		const c = dump(w, 'A', 3000, null);
		const second = truckLoad(w, '2', 8000, null);
		const l = ledger(w.book);
		expect(l.loads.get(first)!.holds).toEqual([
			{ dump: a, kg: 3000 },
			{ dump: b, kg: 2000 },
		]);
		expect(l.loads.get(second)!.holds).toEqual([
			{ dump: a, kg: 3000 },
			{ dump: b, kg: 2000 },
			{ dump: c, kg: 3000 },
		]);
		expect(l.carts.get('cart')!.holds).toEqual([]);
	});

	it('counts a cart as empty within its own unrest, and the difference as no grain', () => {
		const w = ground(new Writer());
		dump(w, 'A', 6000, null);
		const first = truckLoad(w, '1', 5980, null);
		expect(ledger(w.book).carts.get('cart')).toMatchObject({ level_kg: 0, holds: [] });
		expect(ledger(w.book).loads.get(first)).toMatchObject({ cart_kg: 5980, dumps_kg: 6000 });
	});

	it('says what no dump in the book tells of', () => {
		const w = ground(new Writer());
		dump(w, 'A', 6000, null);
		const load = truckLoad(w, '1', 9000, null);
		expect(ledger(w.book).loads.get(load)!.holds.at(-1)).toEqual({ dump: '', kg: 3000 });
	});
});

describe('reconciling', () => {
	it('finds the ticket without a load, the offload without a truck, and the load that is off', () => {
		const w = ground(new Writer());
		const off: number[] = [6050, 6060, 6055, 5800];
		off.forEach((ticket, i) => {
			dump(w, 'A', 6000, null);
			truckLoad(w, String(i + 1), 6000, ticket);
		});
		w.add('ticket', { number: 'T9', load: null, net_kg: 9000 });
		dump(w, 'A', 6000, null);
		w.add('offload', { number: 'O9', cart: 'cart', load: null, net_kg: 2000 });
		const r = reconcile(w.book);
		expect(r.loads.map((l) => l.odd)).toEqual([false, false, false, true]);
		expect(r.ticketsAlone).toHaveLength(1);
		expect(r.offloadsAlone).toHaveLength(1);
		expect(r.carts[0]).toMatchObject({ in_kg: 30_000, out_kg: 26_000, level_kg: 4000, unexplained_kg: 0 });
	});

	it('tells what is in a tank by the running total read since the last dump', () => {
		const w = ground(new Writer());
		const total = (value: number, d: string | null) =>
			w.add('reading', { combine: 'A', dump: d, field: 'north', how: 'total', value, unit: 'kg', basis: 'wet' });
		total(100, null);
		const a = dump(w, 'A', 5250, null);
		total(5100, a);
		expect(reconcile(w.book).tanks[0]!.kg).toBeNull();
		total(7100, null);
		// Factor 5250 / 5000 = 1.05, 2000 kg since.
		expect(Math.abs(reconcile(w.book).tanks[0]!.kg! - 2100)).toBeLessThan(1);
	});
});
