import { describe, expect, it } from 'vitest';
import { budgetOf } from '../../../lib/factor/report/budget.ts';
import { referenceParts, type Shares } from '../../../lib/factor/report/interval.ts';
import type { Reference } from '../../../lib/model/index.ts';
import { repeatsNeeded } from '../../../lib/stats/index.ts';
import { exactReference } from '../../match/hand.ts';

const tickets: Reference = { ...exactReference, u_rel: 0.005, u_certified_rel: 0.003, df: 4 };
const none = {
	cart: 0,
	scale: 0,
	readings: 0,
	rests: 0,
	slow: 0,
	seam: 0,
	curve: 0,
	unrecorded: 0,
} as unknown as Shares;
const lines = (shares: Partial<Shares>, reference = tickets, value = 1) =>
	budgetOf({ ...none, ...shares }, value, reference, null, 15).map((l) => [l.name, l.u_rel]);
const near = (x: number) => expect.closeTo(x, 9);

describe('the budget of a factor', () => {
	it('has a line for each source, largest first, shares adding up to one', () => {
		const all = budgetOf({ ...none, readings: 4e-6, rests: 9e-6, slow: 1e-6 }, 1, tickets, null, 15);
		expect(all.map((l) => l.name)).toEqual([
			'grain left in the tank, and timing',
			'readings of the cart scale',
			'share not weighed',
		]);
		expect(all.map((l) => l.share)).toEqual([near(9 / 14), near(4 / 14), near(1 / 14)]);
		for (const l of all) expect(l.advice).not.toBe('');
		expect(budgetOf(none, 1, tickets, null, 15)).toEqual([]);
	});

	it.each([
		['scale', 'cart scale, unchecked or changed'],
		['readings', 'readings of the cart scale'],
		['rests', 'grain left in the tank, and timing'],
		['unrecorded', 'grain not recorded'],
		['slow', 'share not weighed'],
		['seam', 'seams'],
		['curve', 'pattern of the factor'],
	] as const)('%s: relative to the factor; rounding below nothing is nothing', (key, name) => {
		expect(lines({ [key]: 4e-6 }, tickets, 0.8)).toEqual([[name, near(0.002 / 0.8)]]);
		expect(lines({ [key]: -1e-20 })).toEqual([]);
	});

	it('the cart’s scale by what is known of it: tickets, their certified scale, or an assumed limit', () => {
		expect(lines({ cart: 0.9 }, tickets, 0.9)).toEqual([
			['cart scale against tickets', near(0.004)],
			['certified scale', near(0.003)],
		]);
		// A certified scale no worse than the whole.
		expect(lines({ cart: 1 }, { ...tickets, u_certified_rel: 0.01 })).toEqual([['certified scale', near(0.005)]]);
		const { u_certified_rel: _, ...untold } = tickets;
		expect(lines({ cart: 1 }, untold)).toEqual([['cart scale against tickets', near(0.005)]]);
		const limit = { ...tickets, source: 'limits' as never, u_rel: 0.05 / Math.sqrt(3), limit_rel: 0.05 };
		expect(lines({ cart: 1 }, limit)).toEqual([['cart scale, assumed limit', near(0.05 / Math.sqrt(3))]]);
	});

	it('moisture counts for dry yields where its uncertainty is known', () => {
		const offset = { u_pct: 0.34 } as never;
		expect(budgetOf(none, 1, tickets, offset, 15)).toEqual([
			{ name: 'moisture (dry yield only)', u_rel: near(0.004), share: 1, advice: 'more ticket moistures reduce it' },
		]);
		expect(budgetOf(none, 1, tickets, { u_pct: Number.NaN } as never, 15)).toEqual([]);
	});
});

describe('dumps needed for ±1 %', () => {
	// t(0.975; 3) = 3.182: 3.182² × 0.0062² / 4 = 9.7e-5; with three dumps, t = 4.303 gives 2.4e-4.
	it('is the smallest number whose mean is that certain', () => {
		expect(repeatsNeeded(0.0062, 0.01, 0)).toBe(4);
		expect(repeatsNeeded(0.0062, 0.01, 0.002)).toBe(5);
		expect(repeatsNeeded(0.0062, 0.005, 0)).toBeGreaterThan(6);
		// t(0.975; 1) = 12.706.
		expect(repeatsNeeded(0.0011, 0.01, 0)).toBe(2);
	});
	it('is infinite where what all dumps share is more than that, or 500 do not do', () => {
		expect(repeatsNeeded(0.001, 0.01, 0.01)).toBe(Infinity);
		expect(repeatsNeeded(0.001, 0.01, 0.02)).toBe(Infinity);
		expect(repeatsNeeded(0.2, 0.01, 0)).toBe(Infinity);
		// 1.9647 × 0.1138 / √500 = 0.0100.
		expect(repeatsNeeded(0.1137, 0.01, 0)).toBe(500);
	});
});

describe('the parts of a reference', () => {
	it('without a limit, all is standard uncertainty, with degrees of freedom where anything was estimated', () => {
		expect(referenceParts(tickets)).toEqual({ u: near(0.005), df: 4, half: 0 });
		expect(referenceParts({ ...tickets, df: 0 }).df).toBe(Infinity);
		expect(referenceParts({ ...tickets, u_rel: 0 })).toMatchObject({ u: 0, df: 4 });
	});
	it('a limit is rectangular: its part of the uncertainty is taken off, its own degrees of freedom kept', () => {
		const u_rel = Math.hypot(0.005, 0.02 / Math.sqrt(3));
		expect(referenceParts({ ...tickets, u_rel, limit_rel: 0.02 })).toEqual({ u: near(0.005), df: 4, half: 0.02 });
		expect(referenceParts({ ...tickets, u_rel: 0.02 / Math.sqrt(3), limit_rel: 0.02, df: 0 })).toEqual({
			u: 0,
			df: Infinity,
			half: 0.02,
		});
	});
});
