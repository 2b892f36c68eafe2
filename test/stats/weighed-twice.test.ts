import { describe, expect, it } from 'vitest';
import { cartSide, certified, dumpsApart, outOfLine } from '../../lib/stats/index.ts';

const near = (values: number[]) => values.map((v) => expect.closeTo(v, 9));
/** Loads of 20 t whose dumps come to `rel` more, each with its own scatter; null = dumps not known. */
const loads = (...rels: (number | null)[]) =>
	rels.map((rel) => ({ offload_kg: 20_000, dumps_kg: rel === null ? Number.NaN : 20_000 * (1 + rel) }));

describe('loads weighed by two scales', () => {
	it('out of line by more than 2 % of what most of them show', () => {
		expect(outOfLine([1.01, 1.012, 1.011, 1.05, 0.9])).toEqual(near([0, 0, 0, 1.05 / 1.011 - 1, 0.9 / 1.011 - 1]));
		expect(outOfLine([0.5, 0.505, 0.51])).toEqual([0, 0, 0]);
		// Two groups of one size: the scale was right in the one nearer to 1.
		expect(outOfLine([1.001, 0.999, 0.8, 0.8])).toEqual(near([0, 0, -0.2, -0.2]));
	});
	it('of one or two, only what no scale shows', () => {
		expect(outOfLine([0.86, 1.14])).toEqual([0, 0]);
		expect(outOfLine([0.84, 1.16])).toEqual(near([-0.16, 0.16]));
		expect(outOfLine([])).toEqual([]);
	});
});

describe('dumps and offloads of the same grain', () => {
	it('are apart where it is more than chance, of three loads or more', () => {
		expect(dumpsApart(loads(0.01, 0.011, 0.009))).toBeCloseTo(0.01, 9);
		expect(dumpsApart(loads(-0.01, -0.011, -0.009, null))).toBeCloseTo(-0.01, 9);
		expect(dumpsApart(loads(0.01, 0.011, null))).toBe(0);
		expect(dumpsApart(loads(0.01, -0.009, 0.002))).toBe(0);
		// However alike the loads are, half a kilogram in a ton is nothing.
		expect(dumpsApart(loads(0.0004, 0.0004, 0.0004))).toBe(0);
		expect(dumpsApart(loads(0.0006, 0.0006, 0.0006))).toBeCloseTo(0.0006, 9);
	});
	it('are the mean of both where they agree and all are known; else the dumps, or the offloads', () => {
		const of = (all: ReturnType<typeof loads>, apart: number) => all.map(cartSide(all, apart));
		expect(of(loads(0.01, 0.02), 0)).toEqual(near([20_100, 20_200]));
		expect(of(loads(0.01, null), 0)).toEqual([20_000, 20_000]);
		expect(of(loads(0.01, null), 0.02)).toEqual(near([20_200, 20_400]));
	});
});

describe('a ratio to certified weights', () => {
	it('has their tolerance of 1 in 500 as rectangular limits', () => {
		const { u_rel, interval, df } = certified(1.02, 0.003, 4);
		const u_scale = 0.002 / Math.sqrt(3);
		expect(u_rel).toBeCloseTo(Math.hypot(0.003, u_scale), 12);
		// Welch and Satterthwaite: three degrees of freedom, more as the scale's part grows.
		expect(df).toBeCloseTo((3 * u_rel ** 4) / 0.003 ** 4, 9);
		expect((interval[0] + interval[1]) / 2).toBeCloseTo(1.02, 12);
		expect(certified(1, 0.004, 1).df).toBe(Infinity);
		expect(certified(1, 0, 5).df).toBe(Infinity);
		expect(certified(1, 0, 5).interval[1] - 1).toBeCloseTo(1.959964 * u_scale, 8);
	});
});
