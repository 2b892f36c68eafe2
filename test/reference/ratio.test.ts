import { describe, expect, it } from 'vitest';
import { cartRatio, SINGLE_LOAD_U_REL } from '../../lib/reference/cart-ratio.ts';
import { tQuantile } from '../../lib/stats/index.ts';

/** Rectangular, one division in 500: NIST Handbook 44, 2.20, Table 6. */
const TOLERANCE = 1 / 500 / Math.sqrt(3);

describe('a cart’s ratio from truckloads weighed twice', () => {
	const loads = [
		{ cart_kg: 10_000, ticket_kg: 10_100 },
		{ cart_kg: 20_000, ticket_kg: 20_400 },
		{ cart_kg: 30_000, ticket_kg: 30_300 },
	];
	it('is the ratio of sums, by hand', () => {
		const found = cartRatio(loads);
		// 60,800 / 60,000; residuals −33⅓, 133⅓, −100; v = Σ² / (3 · 2 · 20,000²).
		const R = 60_800 / 60_000;
		expect(found.ratio).toBeCloseTo(R, 14);
		const u_loads = Math.sqrt((33.333333333 ** 2 + 133.333333333 ** 2 + 100 ** 2) / 6) / 20_000 / R;
		expect(found.u_rel).toBeCloseTo(Math.hypot(u_loads, TOLERANCE), 12);
		// Welch and Satterthwaite (JCGM 100, G.4.1): only the scatter of the loads has a finite number.
		const df = (2 * found.u_rel ** 4) / u_loads ** 4;
		expect(found.df).toBeCloseTo(df, 6);
		const half = tQuantile(0.975, df) * found.u_rel * R;
		expect(found.interval[0]).toBeCloseTo(R - half, 10);
		expect(found.interval[1]).toBeCloseTo(R + half, 10);
		expect(found.n).toBe(3);
	});

	it('of two loads has their scatter already, of one a usual one', () => {
		const two = cartRatio(loads.slice(0, 2));
		const u_loads = Math.sqrt((66.6666666667 ** 2 + 66.6666666667 ** 2) / 2) / 15_000 / (30_500 / 30_000);
		expect(two.u_rel).toBeCloseTo(Math.hypot(u_loads, TOLERANCE), 10);
		expect(two.df).toBeCloseTo(two.u_rel ** 4 / u_loads ** 4, 6);
		const one = cartRatio(loads.slice(0, 1));
		expect(one).toMatchObject({ n: 1, df: Infinity });
		expect(one.ratio).toBeCloseTo(1.01, 14);
		expect(one.u_rel).toBeCloseTo(Math.hypot(SINGLE_LOAD_U_REL, TOLERANCE), 14);
		expect((one.interval[1] - one.interval[0]) / 2).toBeCloseTo(1.959964 * one.u_rel * 1.01, 6);
	});

	it('of loads without scatter is as sure as the certified scale', () => {
		const alike = cartRatio([1, 2, 3].map((k) => ({ cart_kg: 8192 * k, ticket_kg: 8192 * k })));
		expect(alike).toMatchObject({ ratio: 1, df: Infinity });
		expect(alike.u_rel).toBeCloseTo(TOLERANCE, 14);
	});

	it('refuses what is no pair of weights, and names it', () => {
		expect(() => cartRatio([])).toThrow('cartRatio: expected at least one truckload, found none');
		for (const bad of [
			{ cart_kg: 0, ticket_kg: 9 },
			{ cart_kg: 9, ticket_kg: 0 },
			{ cart_kg: -9, ticket_kg: 9 },
			{ cart_kg: 9, ticket_kg: Number.NaN },
		]) {
			expect(() => cartRatio([loads[0]!, bad])).toThrow(
				`cartRatio: load 1: expected two weights above 0, found ${bad.cart_kg} and ${bad.ticket_kg}`,
			);
		}
	});
});
