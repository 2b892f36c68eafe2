import { describe, expect, it } from 'vitest';
import { advise, doubts, mergeBooks, oddities, runningFactors, scaleRatio, twins } from '../../lib/book/index.ts';
import { dump, ground, Writer } from './build.ts';

/** What is said after dumps of 10 t on which the monitor showed these errors, per cent. */
function said(errors: number[], options: { limit_pct?: number; tolerance_pct?: number } = {}) {
	const w = ground(new Writer(), { limit_pct: options.limit_pct ?? 0.3 });
	const ids = errors.map((e) => {
		// A quarter of an hour from one to the next: what a monitor errs by slowly is another by then.
		w.now_s += 900;
		const id = dump(w, 'A', 10_000, 10_000 * (1 + e / 100));
		w.add('offload', { number: 'O', cart: 'cart', load: null, reading_kg: 0 });
		return id;
	});
	const f = runningFactors(w.book).find((x) => x.combine === 'A')!;
	const tolerance = options.tolerance_pct ?? 2;
	const doubt = doubts(f, tolerance).find((d) => d.dumps.includes(ids.at(-1) ?? '')) ?? null;
	return advise(f, scaleRatio(w.book, 'cart').parts, tolerance, doubt);
}

describe('the line of advice', () => {
	it('says nothing before anything was weighed and read', () => {
		expect(said([])).toEqual({ kind: 'nothing' });
	});

	it('leaves a monitor alone that is surely within tolerance', () => {
		expect(said([0.4, 0.8, 0.2, 0.6]).kind).toBe('leave');
	});

	it('gives the loads to key in where it is surely outside', () => {
		const a = said([5.0, 5.4, 4.8, 5.2]);
		expect(a).toMatchObject({ kind: 'key in' });
		if (a.kind === 'key in') {
			expect(a.loads).toHaveLength(4);
			expect(a.error_pct).toBeCloseTo(5.1, 1);
			expect(a.interval_pct[0]).toBeGreaterThan(2);
		}
	});

	it('looks at units, not at the monitor, where readings are in pounds', () => {
		expect(said([120.5, 121, 119.8, 120.4]).kind).toBe('check units');
		expect(said([-54.6, -54.5, -54.8, -54.7]).kind).toBe('check units');
	});

	it('asks for more dumps while the band is wide', () => {
		const a = said([1, 4, 2.5]);
		expect(a.kind).toBe('more');
		if (a.kind === 'more') expect(a.more).toBeGreaterThan(0);
	});

	it('asks for more after one dump, by what monitors usually do: nothing is sure yet', () => {
		const a = said([0.5]);
		expect(a.kind).toBe('more');
		if (a.kind === 'more') expect(a.interval_pct[1] - a.interval_pct[0]).toBeGreaterThan(4);
	});

	it('sends the operator to a certified scale where the cart is less sure than the tolerance', () => {
		const a = said([1, 1.2, 0.9, 1.1], { limit_pct: 5 });
		expect(a).toMatchObject({ kind: 'weigh trucks' });
		if (a.kind === 'weigh trucks') expect(a.scaleHalf_pct).toBeCloseTo(4.75, 2);
	});

	it('but still says so where even the worst scale would not bring it back', () => {
		expect(said([12, 12.4, 11.8, 12.1], { limit_pct: 5 }).kind).toBe('key in');
	});

	it('doubts a dump that does not fit the others, before anything else', () => {
		const a = said([1, 1.4, 0.8, 1.2, 14]);
		expect(a.kind).toBe('check dump');
		if (a.kind === 'check dump') expect(a.doubt.expected_pct[1]).toBeLessThan(14);
	});

	it('does not doubt where there is nothing to compare with', () => {
		expect(said([1, 1.4, 14]).kind).not.toBe('check dump');
	});

	it('two bad dumps do not hide each other', () => {
		const w = ground(new Writer());
		for (const e of [1, 1.4, 0.8, 1.2, 0.9, 15, 14, 1.1]) dump(w, 'A', 10_000, 10_000 * (1 + e / 100));
		const f = runningFactors(w.book)[0]!;
		expect(doubts(f, 2).map((d) => Math.round(d.error_pct))).toEqual([15, 14]);
	});
});

describe('rows that look odd by themselves', () => {
	it('a dump heavier than the tank and what came in meanwhile', () => {
		const w = ground(new Writer());
		const heavy = dump(w, 'A', 15_000, null);
		w.add('offload', { number: 'O', cart: 'cart', load: null, net_kg: 15_000 });
		const usual = dump(w, 'A', 11_000, null);
		expect(oddities(w.book, heavy)).toEqual(['above tank']);
		expect(oddities(w.book, usual)).toEqual([]);
	});

	it('the same dump written down on two tablets', () => {
		const start = ground(new Writer());
		const a = new Writer('cart', start.now_s, start.book);
		const b = new Writer('combine', start.now_s + 40, start.book);
		const one = dump(a, 'A', 9000, null);
		const two = dump(b, 'A', 9040, null);
		dump(b, 'B', 9040, null);
		expect(twins(mergeBooks(a.book, b.book)).map((t) => t.dumps)).toEqual([[one, two]]);
	});
});
