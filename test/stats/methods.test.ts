import { describe, expect, test } from 'vitest';
import {
	atPlace,
	effectiveFreedom,
	halfWidth,
	mad,
	median,
	quantile,
	quantileOf,
	seeded,
	ticketOdds,
	tQuantile,
	upperMedian,
	weightedRegression,
} from '../../lib/stats/index.ts';

describe("Student's t against a t table", () => {
	test.each([
		// p, df, value: any t table.
		[0.975, 1, 12.706],
		[0.975, 2, 4.303],
		[0.975, 3, 3.182],
		[0.975, 4, 2.776],
		[0.975, 10, 2.228],
		[0.975, 30, 2.042],
		[0.995, 5, 4.032],
		[0.975, Infinity, 1.96],
	])('t(%f; %f) = %f', (p, df, value) => {
		expect(tQuantile(p, df)).toBeCloseTo(value, 3);
		expect(tQuantile(1 - p, df)).toBeCloseTo(-value, 3);
	});
});

test('effective degrees of freedom: the example of JCGM 100:2008, G.4.1', () => {
	expect(effectiveFreedom([0.25, 0.57, 0.82], [9, 4, 14])).toBeCloseTo(19, 1);
});

test('median and MAD', () => {
	expect(median([3, Number.NaN, 1, 2])).toBe(2);
	// R: mad(c(1, 1, 2, 2, 4, 6, 9)) = 1.4826
	expect(mad([1, 1, 2, 2, 4, 6, 9])).toBeCloseTo(1.4826, 10);
});

test('a median is the one that sorting gives', () => {
	const random = seeded(14);
	for (let n = 1; n < 300; n++) {
		// Few different values in every other list, so that many are equal.
		const values = Float64Array.from({ length: n }, () =>
			n % 2 ? random.uniform() : Math.floor(4 * random.uniform()),
		);
		const sorted = values.slice().sort();
		const [below, above] = [sorted[(n - 1) >> 1]!, sorted[n >> 1]!];
		expect(median(values)).toBe((below + above) / 2);
		expect(upperMedian(values)).toBe(above);
		expect(median(sorted)).toBe(median(values));
		expect(quantileOf(values, 0.1)).toBe(quantile(sorted, 0.1));
		expect(atPlace(values.slice(), n >> 2)).toBe(sorted[n >> 2]);
	}
});

test('the covariance of a regression is of errors of exactly the variances given', () => {
	// Two weights of one quantity, of variances 1 and 4: their mean by 1/variance, of variance 1 / (1 + 1/4).
	const fit = weightedRegression([[1], [1]], [10, 15], [1, 1 / 4]);
	expect(fit.beta[0]).toBeCloseTo(11, 12);
	expect(fit.covariance[0]).toBeCloseTo(0.8, 12);
	expect(fit.u[0]).toBeCloseTo(Math.sqrt(0.8 * (1 ** 2 + 4 ** 2 / 4)), 12);
});

describe('propagation by Monte Carlo (JCGM 101)', () => {
	test('a rectangle alone holds 95 % within 0.95 of its limit', () => {
		expect(halfWidth([{ kind: 'rectangular', half: 1 }])).toBeCloseTo(0.95, 12);
	});
	test('one t part is t × u', () => {
		expect(halfWidth([{ kind: 't', u: 2, df: 4 }])).toBeCloseTo(2 * 2.776, 2);
	});
	test('two equal rectangles: the trapezoid 1 − (1 − h/2)² = 0.95 at h = 2 − 2√0.05', () => {
		const h = halfWidth(
			[
				{ kind: 'rectangular', half: 1 },
				{ kind: 'rectangular', half: 1 },
			],
			0.95,
			200_000,
		);
		expect(h).toBeCloseTo(2 - 2 * Math.sqrt(0.05), 2);
	});
	test('the same seed gives the same number', () => {
		const parts = [
			{ kind: 't', u: 1, df: 5 },
			{ kind: 'rectangular', half: 1 },
		] as const;
		expect(halfWidth(parts, 0.95, 1000, 3)).toBe(halfWidth(parts, 0.95, 1000, 3));
	});
});

test('seeded numbers: moments of the uniform, normal and t', () => {
	const random = seeded(5);
	const n = 50_000;
	let u = 0;
	let z2 = 0;
	let t2 = 0;
	for (let i = 0; i < n; i++) {
		u += random.uniform();
		z2 += random.normal() ** 2;
		t2 += random.t(10) ** 2;
	}
	expect(u / n).toBeCloseTo(0.5, 2);
	expect(Math.abs(z2 / n - 1)).toBeLessThan(0.03);
	expect(Math.abs(t2 / n - 10 / 8)).toBeLessThan(0.05);
});

test('tickets that are less by what each load’s moisture would take are dry, whatever the scale is off; else they are right', () => {
	const loads = [17, 18.5, 20, 19, 17.5].map((m) => (100 - m) / 84.5 - 1);
	const drying = loads.reduce((s, d) => s + d, 0) / loads.length;
	const odds = (rel: (drying: number) => number) => {
		const of = loads.map((d) => ({ rel: rel(d), drying: d }));
		return ticketOdds({ sides: [drying, drying], u_rel: 0.002, loads: of, limit: null, drying, unit: false });
	};
	const dry = (list: ReturnType<typeof odds>) => list.find((o) => o.kind === 'dry')?.weight ?? 0;
	expect(dry(odds((d) => d - drying))).toBeGreaterThan(0.9);
	expect(dry(odds(() => 0))).toBe(0);
	// Loads of one moisture show nothing: the prior odds.
	const alike = loads.map(() => ({ rel: 0, drying }));
	expect(
		dry(ticketOdds({ sides: [drying, drying], u_rel: 0.002, loads: alike, limit: null, drying, unit: false })),
	).toBeCloseTo(0.06, 1);
});
