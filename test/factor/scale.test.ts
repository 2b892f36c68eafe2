import { expect, test } from 'vitest';
import { solveFactors } from '../../lib/factor/index.ts';
import { silent } from '../../lib/model/index.ts';
import { type Made, make } from './make.ts';

const solve = (made: Made) => solveFactors({ ...made, seams: [], jumps: [] }, silent);

test('however many weights: a scale that nothing checks is not drawn away by their noise', () => {
	// Σ weights ÷ Σ account, by hand: without tickets the scale counts as right, only less sure.
	const reference = {
		ratio: 1,
		u_rel: 0.05 / Math.sqrt(3),
		limit_rel: 0.05,
		df: Infinity,
		source: 'limit' as const,
		n: 0,
	};
	const made = make({ seed: 5, fills: 60, reference });
	solve(made).factors.forEach((f, c) => {
		const own = made.match.weighings.filter((w) => made.match.unloadings[w.unloadings[0]!]!.combine === c);
		const sum = own.reduce((s, w) => s + w.reference_kg, 0);
		const account = own.reduce((s, w) => s + made.match.unloadings[w.unloadings[0]!]!.account_kg, 0);
		expect(Math.abs(f.value / (sum / account) - 1)).toBeLessThan(0.003);
	});
});

test('masses in another unit, and all times shifted: the same factors', () => {
	const plain = solve(make({ seed: 8 })).factors;
	const made = make({ seed: 8 });
	made.records.time_s.forEach((t, i) => {
		made.records.time_s[i] = t + 1e6;
	});
	for (const u of made.match.unloadings) {
		u.start_s += 1e6;
		u.end_s += 1e6;
	}
	solve(made).factors.forEach((f, c) => {
		expect(f.value).toBeCloseTo(plain[c]!.value, 9);
		expect(f.interval[0]).toBeCloseTo(plain[c]!.interval[0], 7);
	});
});

test('combines in another order: the same factors', () => {
	const plain = solve(make({ seed: 9, factor: (c) => (c ? 1.03 : 0.97) })).factors;
	const made = make({ seed: 9, factor: (c) => (c ? 1.03 : 0.97) });
	// B first: names, records, unloadings and the factors that the match ended with.
	made.records.combines = ['B', 'A'];
	made.records.combine = made.records.combine.map((c) => 1 - c);
	for (const u of made.match.unloadings) u.combine = 1 - u.combine;
	made.match.start_kg.reverse();
	const swapped = solve(made).factors;
	// Weights of one moment are taken one after the other: a relative error is of the grain that is then expected.
	[0, 1].forEach((c) => {
		expect(swapped[1 - c]!.value).toBeCloseTo(plain[c]!.value, 4);
	});
});

test('few weights: an interval that a person would call honest', () => {
	const half = (weights: number) => {
		const made = make({ seed: 31, combines: ['A'], fills: 12 });
		made.match.weighings = made.match.weighings.filter((_, i) => i >= 4 && i < 4 + weights);
		const f = solve(made).factors[0]!;
		expect(f.interval[0] < made.truth[0]! && made.truth[0]! < f.interval[1]).toBe(true);
		return (50 * (f.interval[1] - f.interval[0])) / f.value;
	};
	const one = half(1);
	expect(one).toBeGreaterThan(3.5);
	expect(one).toBeLessThan(6);
	const three = half(3);
	expect(three).toBeGreaterThan(1.5);
	expect(three).toBeLessThan(3.2);
});

test('one weight of a tank that held no one knows what: no wider than what is known of any monitor, and the seams carry it', () => {
	const made = make({ seed: 31, fills: 12, factor: (c) => (c ? 1.05 : 0.96) });
	const [a, b] = [
		4,
		made.match.weighings.findIndex((w, i) => i > 8 && made.match.unloadings[w.unloadings[0]!]!.combine === 1),
	];
	made.match.weighings = [made.match.weighings[a]!, made.match.weighings[b]!];
	const [u] = made.match.weighings[1]!.unloadings as [number];
	Object.assign(made.match.unloadings[u]!, { rest_kg: 2500, u_rest_kg: 2500 });
	const half = (f: { interval: [number, number]; value: number }) => (f.interval[1] - f.interval[0]) / 2 / f.value;
	const alone = solve(made).factors;
	expect(half(alone[0]!)).toBeLessThan(0.07);
	expect(half(alone[1]!)).toBeGreaterThan(0.1);
	expect(half(alone[1]!)).toBeLessThan(0.26);
	const jump = { combineA: 0, combineB: 1, log_jump: Math.log(1.05 / 0.96), u_log: 0.008, df: 20, blocks: [] };
	const joined = solveFactors({ ...made, seams: [], jumps: [jump as never] }, silent).factors;
	expect(half(joined[1]!)).toBeLessThan(0.07);
	joined.forEach((f, c) => {
		expect(Math.abs(f.value / made.truth[c]! - 1)).toBeLessThan(0.05);
	});
});

test('grain far from any weight is the less sure: a recalibration there would not show', () => {
	const half = (weighed: (i: number) => boolean) => {
		const made = make({ seed: 32, combines: ['A'], fills: 24 });
		made.match.weighings = made.match.weighings.filter((_, i) => weighed(i));
		const f = solve(made).factors[0]!;
		return (f.interval[1] - f.interval[0]) / f.value;
	};
	// Eight weights each: spread over the day, and all in its first third.
	expect(half((i) => i < 8)).toBeGreaterThan(1.5 * half((i) => i % 3 === 1));
});
