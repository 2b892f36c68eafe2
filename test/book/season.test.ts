import { describe, expect, it } from 'vitest';
import {
	bookFills,
	carriedOver,
	cropKnown,
	cropsIn,
	expectedLogs,
	exportField,
	find,
	totals,
	withCarried,
} from '../../lib/book/index.ts';
import { dump, ground, Writer } from './build.ts';

/** Two fields one after the other: on the first, four dumps of 10,000 kg by a monitor that reads 4 % high. */
function twoFields(crop = 'corn'): Writer {
	const w = ground(new Writer(), { limit_pct: 0.5 });
	w.add('field', { name: 'South', season: 2026, crop, timeZone: 'America/Chicago' }, 'south');
	for (const shown of [10_380, 10_420, 10_400, 10_400]) dump(w, 'A', 10_000, shown);
	return w;
}
const here = (w: Writer, net_kg: number, shown: number, moisture_pct: number | null = null) => {
	const id = w.add('dump', { number: 'S', cart: 'cart', field: 'south', combines: ['A'], net_kg });
	const set = {
		combine: 'A',
		dump: id,
		field: 'south',
		how: 'load',
		value: shown,
		unit: 'kg',
		basis: 'wet',
		moisture_pct,
	};
	w.add('reading', set);
};

describe('a combine’s error carries over to the next field', () => {
	it('with its size, its age and its number of tank loads', () => {
		const w = twoFields();
		// 41,600 ÷ 40,000 = 1.04.
		expect(carriedOver(w.book, 'A', 'south')).toMatchObject({
			field: 'north',
			n: 4,
			error_pct: expect.closeTo(4, 2),
			recalibrated: false,
			otherCrop: null,
			moisture_points: null,
		});
		expect(carriedOver(w.book, 'B', 'south')).toBeNull();
		expect(carriedOver(w.book, 'A', 'north')).toBeNull();
	});

	it('says what has changed since: crop, moisture, recalibration', () => {
		const beans = twoFields('soybeans');
		expect(carriedOver(beans.book, 'A', 'south')!.otherCrop).toBe('corn');
		const wet = ground(new Writer());
		wet.add('field', { name: 'South', season: 2026, crop: 'corn' }, 'south');
		for (const shown of [10_400, 10_410]) {
			const id = dump(wet, 'A', 10_000, null);
			wet.add('reading', {
				combine: 'A',
				dump: id,
				how: 'load',
				value: shown,
				unit: 'kg',
				basis: 'wet',
				moisture_pct: 17,
			});
		}
		here(wet, 10_000, 10_300, 22.5);
		expect(carriedOver(wet.book, 'A', 'south')!.moisture_points).toBeCloseTo(5.5, 9);
		wet.add('event', { combine: 'A', field: 'south', kind: 'calibrated' });
		expect(carriedOver(wet.book, 'A', 'south')!.recalibrated).toBe(true);
	});

	it('is a start that what is weighed here outweighs bit by bit', () => {
		const w = twoFields();
		const errors: number[] = [];
		let last_pct = [0, 0];
		for (let i = 0; i < 12; i++) {
			here(w, 10_000, 10_800 + (i % 2) * 20);
			const c = carriedOver(w.book, 'A', 'south')!;
			const both = withCarried(w.book, c, 'south')!;
			errors.push(both.error_pct);
			last_pct = both.interval_pct;
		}
		expect(errors[0]!).toBeGreaterThan(4);
		expect(errors[0]!).toBeLessThan(8.2);
		expect(errors.at(-1)!).toBeGreaterThan(errors[0]!);
		// In part it may be the cart's scale that changed in between.
		expect(Math.abs(errors.at(-1)! - 8.1)).toBeLessThan(0.5);
		expect(last_pct[0]).toBeLessThan(8.1);
		expect(last_pct[1]).toBeGreaterThan(8.1);
	});
});

describe('a season of two crops', () => {
	it('never adds them up, and knows a crop by the singular', () => {
		const w = twoFields('soybean');
		expect(cropKnown(find(w.book, 'field', 'south')!.v)!.name).toBe('soybeans');
		here(w, 5443.2, 5500);
		expect(cropsIn(w.book, { season: 2026 })).toEqual(['corn', 'soybeans']);
		const beans = totals(w.book, 'field', () => '', { season: 2026, crop: 'soybeans' });
		expect(beans.sum.wet_kg).toBeCloseTo(5443.2, 6);
		expect(beans.market_moisture_pct).toBe(13);
		expect(totals(w.book, 'field', () => '', { season: 2026, crop: 'corn' }).sum.wet_kg).toBeCloseTo(40_000, 6);
	});
});

describe('a crop that nobody knows', () => {
	it('has weights and factors by the pound, no bushels and no dry weight', () => {
		const w = twoFields('teff');
		w.add('offload', { number: 'O', cart: 'cart', load: w.add('load', { number: '1', truck: 'red' }), reading_kg: 0 });
		here(w, 5000, 5200);
		const { sum, market_moisture_pct } = totals(w.book, 'field', () => '', { season: 2026, crop: 'teff' });
		expect(sum).toMatchObject({ wet_kg: 5000, unknown_kg: 5000, dry_kg: 0, dry_bu: 0, moisture_pct: null });
		expect(market_moisture_pct).toBeNull();
		expect(cropsIn(w.book, { season: 2026 })).toEqual(['corn', 'teff']);
		const of = (value: number, unit: string) => {
			const dump = w.add('dump', { number: 'S2', cart: 'cart', field: 'south', combines: ['A'], net_kg: 5000 });
			w.add('reading', { combine: 'A', dump, field: 'south', how: 'load', value, unit, basis: 'wet' });
			return dump;
		};
		of(5200, 'kg');
		expect(bookFills(w.book).fills.at(-1)!.monitor[0]!.kg).toBe(5200);
		const dump = of(200, 'bu');
		expect(bookFills(w.book).waiting).toContainEqual({ dump, reason: 'no crop' });
	});
});

describe('what has left', () => {
	it('stays in the files of its field, under its own name', () => {
		const w = twoFields();
		w.edit('A', { swath_m: 9.144, away: true });
		w.strike('A', 'sold');
		w.add('combine', { name: 'A' }, 'A2');
		const files = exportField(w.book, 'north', expectedLogs(w.book, 'north'));
		const plan = JSON.parse(files['field.json']);
		// The new one of that name counts and keeps it; the old one is told apart.
		const [name] = Object.keys(plan.combines);
		expect(name).not.toBe('A');
		expect(plan.combines[name!].swath_m).toBe(9.144);
		expect(plan.logs).toEqual([{ file: `${name}.csv`, combine: name }]);
		expect(files['cart.csv']).toContain(`,dump,${name},10000,`);
	});
});
