import { describe, expect, test } from 'vitest';
import {
	effectiveFreedom,
	filter,
	gls,
	halfWidth,
	localLine,
	mad,
	median,
	robustRegression,
	seeded,
	smooth,
	tCdf,
	tQuantile,
	weightedMedian,
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
		[0.975, Number.POSITIVE_INFINITY, 1.96],
	])('t(%f; %f) = %f', (p, df, value) => {
		expect(tQuantile(p, df)).toBeCloseTo(value, 3);
		expect(tQuantile(1 - p, df)).toBeCloseTo(-value, 3);
		expect(tCdf(tQuantile(p, df), df)).toBeCloseTo(p, 12);
	});
});

test('effective degrees of freedom: the example of JCGM 100:2008, G.4.1', () => {
	expect(effectiveFreedom([0.25, 0.57, 0.82], [9, 4, 14])).toBeCloseTo(19, 1);
});

test('median, MAD and weighted median', () => {
	expect(median([3, Number.NaN, 1, 2])).toBe(2);
	// R: mad(c(1, 1, 2, 2, 4, 6, 9)) = 1.4826
	expect(mad([1, 1, 2, 2, 4, 6, 9])).toBeCloseTo(1.4826, 10);
	expect(weightedMedian([1, 2, 3], [1, 1, 10])).toBe(3);
	expect(weightedMedian([4, 1, 3, 2], [1, 1, 1, 1])).toBe(2.5);
});

test('a robust fit passes a far point by', () => {
	const x = [0, 1, 2, 3, 4, 5, 6, 7];
	const rows = x.map((v) => [1, v]);
	const y = x.map((v, i) => 2 + v + (i % 2 ? 0.01 : -0.01) + (i === 6 ? 40 : 0));
	const fit = robustRegression(rows, y, 'bisquare', { start: robustRegression(rows, y, 'huber').beta });
	expect(fit.beta[1]).toBeCloseTo(1, 1);
	expect(fit.weights[6]).toBe(0);
});

describe('generalised least squares', () => {
	test('with a diagonal covariance it is the weighted regression', () => {
		const rows = [0, 1, 2, 3].map((v) => [1, v]);
		const y = [1, 2.5, 3.5, 6];
		const v = [1, 4, 1, 2];
		const V = new Float64Array(16);
		v.forEach((s, i) => {
			V[i * 5] = s;
		});
		const a = gls(rows, y, V);
		const b = weightedRegression(
			rows,
			y,
			v.map((s) => 1 / s),
		);
		expect(a.beta[0]).toBeCloseTo(b.beta[0]!, 12);
		expect(a.beta[1]).toBeCloseTo(b.beta[1]!, 12);
		expect(a.chi2).toBeCloseTo(b.s ** 2 * b.df, 12);
		expect(a.covariance[3]! * b.s ** 2).toBeCloseTo(b.u[1]! ** 2, 12);
	});

	test('errors of opposite sign cancel in the sum', () => {
		// Two loads that share a reading: e and −e. Their sum is exact, and so is the slope through the origin.
		const fit = gls([[10], [10]], [11, 9], [1.0001, -1, -1, 1.0001]);
		expect(fit.beta[0]).toBeCloseTo(1, 10);
		expect(Math.sqrt(fit.covariance[0]!)).toBeLessThan(0.001);
	});
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

test('local regression reproduces a line and says nothing far from all observations', () => {
	const out = localLine([0, 1, 2, 3], [1, 3, 5, 7], [1.5, 90], 3);
	expect(out[0]).toBeCloseTo(4, 12);
	expect(out[1]).toBeNaN();
});

describe('scalar Kalman filter', () => {
	test('one observation as good as the prior halves the difference', () => {
		const f = filter([1], [0], [1], { mean: 0, variance: 1 });
		expect(f.mean[0]).toBe(0.5);
		expect(f.variance[0]).toBe(0.5);
	});
	test('with no change between steps filter and smoother end at the mean', () => {
		const q = [0, 0, 0, 0];
		const f = filter([1, 2, 3, 4], q, [1, 1, 1, 1], { mean: 0, variance: 1e12 });
		expect(f.mean[3]).toBeCloseTo(2.5, 9);
		expect(f.variance[3]).toBeCloseTo(0.25, 9);
		expect(smooth(f, q).mean[0]).toBeCloseTo(2.5, 6);
	});
	test('a gap widens the variance', () => {
		const f = filter([1, Number.NaN, Number.NaN], [0, 2, 2], [1, 1, 1], { mean: 0, variance: 1e9 });
		expect(f.variance[2]).toBeCloseTo(f.variance[0]! + 4, 6);
	});
});
