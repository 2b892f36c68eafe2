import { describe, expect, test } from 'vitest';
import { ratioOfSums, weightedRegression } from '../../lib/stats/index.ts';
import { Tape } from '../../lib/tank/index.ts';

/** Digits that agree with a certified value. */
function digits(found: number, certified: number): number {
	return -Math.log10(Math.max(1e-16, Math.abs(found - certified) / Math.abs(certified)));
}

/**
 * The filter as a regression, one observation after another: coefficients of which nothing is known before, errors of one
 * size, which the misfit tells.
 */
function filtered(rows: readonly (readonly number[])[], y: readonly number[], wide: number) {
	const n = rows[0]!.length;
	const tape = new Tape(n);
	const at = rows[0]!.map((_, j) => j);
	// Wide against errors of 1, and not so wide that the digits of the data are lost in it.
	for (const j of at) tape.set(j, 0, wide);
	let left = 0;
	rows.forEach((row, i) => {
		const foretold = row.reduce((sum, v, j) => sum + v * tape.x[j]!, 0);
		const S = 1 + row.reduce((sum, v, j) => sum + v * row.reduce((s, w, k) => s + w * tape.P[j * n + k]!, 0), 0);
		left += (y[i]! - foretold) ** 2 / S;
		tape.observe(at, row, y[i]!, 1);
	});
	const s = Math.sqrt(left / (rows.length - n));
	const covariance = (i: number, j: number) => s * s * tape.P[i * n + j]!;
	return { beta: [...tape.x], u: at.map((j) => Math.sqrt(covariance(j, j))), s, covariance };
}

describe('NIST StRD, https://www.itl.nist.gov/div898/strd/lls/lls.shtml', () => {
	test('NoInt1: slope through the origin', () => {
		const x = Array.from({ length: 11 }, (_, i) => 60 + i);
		const fit = filtered(
			x.map((v) => [v]),
			x.map((v) => v + 70),
			1e4,
		);
		expect(digits(fit.beta[0]!, 2.07438016528926)).toBeGreaterThan(5.5);
		expect(digits(fit.u[0]!, 0.0165289256198347)).toBeGreaterThan(5.5);
		expect(digits(fit.s, 3.56753034006338)).toBeGreaterThan(5.5);
	});

	test('NoInt2: slope through the origin', () => {
		// The values of method.md are from memory; exact arithmetic: b = 56/77, s² = (41 − 56²/77)/2, s(b)² = s²/77.
		const fit = filtered([[4], [5], [6]], [3, 4, 4], 1e6);
		const s2 = (41 * 77 - 56 * 56) / 77 / 2;
		expect(digits(fit.beta[0]!, 56 / 77)).toBeGreaterThan(5.5);
		expect(digits(fit.u[0]!, Math.sqrt(s2 / 77))).toBeGreaterThan(5.5);
		expect(digits(fit.beta[0]!, 0.727272727272727)).toBeGreaterThan(5.5);
		expect(digits(fit.u[0]!, 0.0420827318078432)).toBeGreaterThan(5.5);
		expect(digits(fit.s, 0.369274472937998)).toBeGreaterThan(5.5);
	});

	const norrisX = [
		0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777, 558.2, 0.4, 0.6, 775.5, 666.9, 338, 447.5, 11.6,
		556, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999, 779, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5,
	];
	const norrisY = [
		0.1, 338.8, 118.1, 888, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3, 448.9, 10.8,
		557.7, 228.3, 998, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2,
	];

	test('Norris: a line', () => {
		const fit = weightedRegression(
			norrisX.map((x) => [1, x]),
			norrisY,
		);
		expect(digits(fit.beta[0]!, -0.262323073774029)).toBeGreaterThan(10);
		expect(digits(fit.u[0]!, 0.232818234301152)).toBeGreaterThan(10);
		expect(digits(fit.beta[1]!, 1.00211681802045)).toBeGreaterThan(10);
		expect(digits(fit.u[1]!, 0.429796848199937e-3)).toBeGreaterThan(10);
		expect(digits(fit.s, 0.884796396144373)).toBeGreaterThan(10);
	});

	test('Wampler1: a polynomial of degree 5, all coefficients 1', () => {
		const x = Array.from({ length: 21 }, (_, i) => i);
		const rows = x.map((v) => [0, 1, 2, 3, 4, 5].map((k) => v ** k));
		const y = rows.map((r) => r.reduce((a, b) => a + b, 0));
		for (const b of weightedRegression(rows, y).beta) expect(b).toBeCloseTo(1, 8);
	});
});

test('JCGM 100:2008, H.3: calibration of a thermometer', () => {
	const t = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.01, 26.511];
	const b = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.16];
	const fit = filtered(
		t.map((v) => [1, v - 20]),
		b,
		1e6,
	);
	expect(fit.beta[0]).toBeCloseTo(-0.1712, 4);
	expect(fit.u[0]).toBeCloseTo(0.0029, 4);
	expect(fit.beta[1]).toBeCloseTo(0.00218, 5);
	expect(fit.u[1]).toBeCloseTo(0.00067, 5);
	expect(fit.covariance(0, 1) / (fit.u[0]! * fit.u[1]!)).toBeCloseTo(-0.93, 3);
	expect(fit.beta[0]! + 10 * fit.beta[1]!).toBeCloseTo(-0.1494, 4);
	const variance = fit.covariance(0, 0) + 20 * fit.covariance(0, 1) + 100 * fit.covariance(1, 1);
	expect(Math.sqrt(variance)).toBeCloseTo(0.0041, 4);
});

test('ratio of sums with the variance of Cochran, ch. 6, worked by hand', () => {
	// Residuals y − x: 0, 1, −1; x̄ = 20; v = 2 / (3 · 2 · 400).
	const r = ratioOfSums([10, 21, 29], [10, 20, 30]);
	expect(r.ratio).toBe(1);
	expect(r.u).toBeCloseTo(Math.sqrt(2 / 2400), 14);
	expect(r.df).toBe(2);
});

test('columns that do not tell coefficients apart are refused', () => {
	expect(() =>
		weightedRegression(
			[
				[1, 2],
				[2, 4],
				[3, 6],
			],
			[1, 2, 3],
		),
	).toThrow(/linearly dependent/);
});
