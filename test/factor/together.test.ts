import { describe, expect, test } from 'vitest';
import { solveFactors } from '../../lib/factor/index.ts';
import type { SeamJump, Weighing } from '../../lib/model/index.ts';
import { silent } from '../../lib/model/index.ts';
import { repeatsNeeded, tQuantile } from '../../lib/stats/index.ts';
import { type Made, make } from './make.ts';

function solve(made: Made, jumps: SeamJump[] = []) {
	return solveFactors({ ...made, seams: [], jumps }, silent);
}

/** A seam's word that combine a reads e^log of what combine b reads on the same ground. */
function jump(a: number, b: number, log: number, u = 0.004): SeamJump {
	return {
		combineA: a,
		combineB: b,
		before_pct: 100 * Math.expm1(log),
		before_interval: [0, 0],
		after_pct: Number.NaN,
		after_interval: [Number.NaN, Number.NaN],
		moisture_diff_pct: 0,
		length_m: 2000,
		log_jump: log,
		u_log: u,
		df: 12,
		blocks: [],
		remarks: [],
	};
}

/** Drops every weight of some combines. */
function without(made: Made, combines: number[]): void {
	made.match.weighings = made.match.weighings.filter(
		(w) => !combines.includes(made.match.unloadings[w.unloadings[0]!]!.combine),
	);
}

describe('a combine without any weight', () => {
	const k = [0.96, 1.05, 1.1];
	test('takes its factor over its seams, through another if need be, with a wider interval', () => {
		const made = make({ seed: 21, combines: ['A', 'B', 'C'], factor: (c) => k[c]! });
		without(made, [1, 2]);
		const found = solve(made, [jump(0, 1, Math.log(k[1]! / k[0]!)), jump(1, 2, Math.log(k[2]! / k[1]!))]);
		expect(found.factors.map((f) => f.source)).toEqual(['dumps', 'seams', 'seams']);
		const width = found.factors.map((f) => (f.interval[1] - f.interval[0]) / f.value);
		expect(width[1]).toBeGreaterThan(2 * width[0]!);
		expect(width[2]).toBeGreaterThan(1.2 * width[1]!);
		found.factors.forEach((f, c) => {
			expect(Math.abs(f.value / made.truth[c]! - 1)).toBeLessThan(0.02);
			expect(f.interval[0] < made.truth[c]! && made.truth[c]! < f.interval[1]).toBe(true);
		});
		expect(found.cautions!.join(' ')).toMatch(/Combine B has no usable weight.*seams/s);
	});
	test('has none where no seam ties it to a weight', () => {
		const made = make({ seed: 21, combines: ['A', 'B', 'C'] });
		without(made, [1, 2]);
		const found = solve(made, [jump(0, 1, 0)]);
		expect(found.factors.map((f) => f.source)).toEqual(['dumps', 'seams', null]);
		expect(found.factors[2]!.value).toBeNaN();
	});
});

test('seams leave factors alone where both combines were weighed: they stay an independent check', () => {
	const made = make({ seed: 22 });
	const a = solve(made);
	const b = solve(made, [jump(0, 1, 0.2)]);
	expect(b.factors.map((f) => f.value)).toEqual(a.factors.map((f) => f.value));
});

test('one weight of both combines: solved together with the seams, and their sum closes', () => {
	const made = make({ seed: 23, factor: (c) => (c === 0 ? 0.95 : 1.06) });
	const n = made.match.weighings.length / 2;
	const both: Weighing[] = [];
	for (let i = 0; i < n; i++) {
		const a = made.match.weighings[i]!;
		const b = made.match.weighings[n + i]!;
		both.push({
			...a,
			kind: 'mixed',
			dumps: [i],
			weight_kg: a.weight_kg + b.weight_kg,
			reference_kg: a.reference_kg + b.reference_kg,
			unloadings: [...a.unloadings, ...b.unloadings],
		});
	}
	made.match.weighings = both;
	const found = solve(made, [jump(0, 1, Math.log(1.06 / 0.95))]);
	found.factors.forEach((f, c) => {
		expect(Math.abs(f.value / made.truth[c]! - 1)).toBeLessThan(0.01);
		expect(f.source).toBe('dumps');
	});
	const corrected = made.account.account_kg.reduce((s, m, i) => s + m * found.factor[i]!, 0);
	const reference = both.reduce((s, w) => s + w.reference_kg, 0);
	expect(Math.abs(corrected / reference - 1)).toBeLessThan(2e-4);
});

test('a field total alone gives the level of both, the seams their difference', () => {
	const made = make({ seed: 24, factor: (c) => (c === 0 ? 0.95 : 1.06) });
	const all = made.match.weighings;
	made.match.weighings = [
		{
			...all[0]!,
			kind: 'total',
			dumps: [],
			reference_kg: made.true_kg[0]! + made.true_kg[1]!,
			u_reading_kg: 600,
			byCart: false,
			unloadings: [],
		},
	];
	const found = solve(made, [jump(0, 1, Math.log(1.06 / 0.95))]);
	found.factors.forEach((f, c) => {
		expect(f.source).toBe('total');
		expect(Math.abs(f.value / made.truth[c]! - 1)).toBeLessThan(0.01);
	});
});

test('readings that neighbors share cancel in the sum', () => {
	const made = make({ seed: 25, combines: ['A'], reading_kg: 30 });
	const alone = solve(made).factors[0]!;
	made.match.weighings.forEach((w, i) => {
		w.readings = [i, i + 1];
		w.u_gross_kg = [30, 30];
	});
	const shared = solve(made).factors[0]!;
	const readings = (f: typeof alone) => f.budget.find((l) => l.name.startsWith('readings'))!.u_rel;
	expect(readings(shared)).toBeLessThan(0.7 * readings(alone));
});

test('the reference cancels between two combines weighed by one cart', () => {
	const limit = { ratio: 1, u_rel: 0.05 / Math.sqrt(3), limit_rel: 0.05, n: 0, df: Infinity, source: 'limit' as const };
	const made = make({ seed: 26, reference: limit });
	const { covariance } = solve(made);
	const difference = Math.sqrt(covariance[0]! + covariance[3]! - 2 * covariance[1]!);
	expect(Math.sqrt(covariance[0]!)).toBeGreaterThan(0.028);
	expect(difference).toBeLessThan(0.004);
});

test('grain that was not weighed widens the interval by its share of the scatter', () => {
	const made = make({ seed: 27, combines: ['A'], slow: 0.01 });
	const whole = solve(made).factors[0]!;
	// Every second dump was never weighed.
	made.match.weighings = made.match.weighings.filter((_, i) => i % 2 === 0);
	const half = solve(made).factors[0]!;
	const share = (f: typeof half) => f.budget.find((l) => l.name === 'share not weighed')!;
	expect(share(half).u_rel).toBeGreaterThan(3 * (share(whole)?.u_rel ?? 0));
	expect(half.u_rel).toBeGreaterThan(whole.u_rel);
});

test('how many dumps: the smallest n with (t(n − 1)·s)² / n ≤ E² − U²', () => {
	const s = 0.012;
	const U = 0.006;
	const n = repeatsNeeded(s, 0.01, U);
	const room = 0.01 ** 2 - U ** 2;
	expect((tQuantile(0.975, n - 1) * s) ** 2 / n).toBeLessThanOrEqual(room);
	expect((tQuantile(0.975, n - 2) * s) ** 2 / (n - 1)).toBeGreaterThan(room);
	expect(repeatsNeeded(s, 0.01, 0.01)).toBe(Infinity);
});
