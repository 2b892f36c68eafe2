import { describe, expect, test } from 'vitest';
import { afterFactors, solveFactors } from '../../lib/factor/index.ts';
import { silent } from '../../lib/model/index.ts';
import { type Made, make, once } from './make.ts';

function solve(made: Made) {
	return solveFactors({ ...made, seams: [], jumps: [] }, silent);
}

describe('a constant factor', () => {
	const made = make({ seed: 1, factor: (c) => (c === 0 ? 0.95 : 1.05) });
	const found = once(() => solve(made));

	test('is found for each combine, from dumps, as a constant', () => {
		found().factors.forEach((f, c) => {
			expect(Math.abs(f.value / made.truth[c]! - 1)).toBeLessThan(0.004);
			expect(f.form).toBe('constant');
			expect(f.source).toBe('dumps');
			expect(f.n).toBe(12);
			expect(f.next_interval[1] - f.next_interval[0]).toBeGreaterThan(f.interval[1] - f.interval[0]);
		});
	});

	test('makes corrected mass equal to reference mass over the used fills', () => {
		for (const c of [0, 1]) {
			const own = made.match.weighings.filter((w) => made.match.unloadings[w.unloadings[0]!]!.combine === c);
			const reference = own.reduce((s, w) => s + w.reference_kg, 0);
			let corrected = 0;
			made.account.account_kg.forEach((m, i) => {
				if (made.records.combine[i] === c) corrected += m * found().factor[i]!;
			});
			// But for what the readings are known to err by: 17 kg a fill.
			expect(Math.abs(corrected / reference - 1)).toBeLessThan(3e-4);
		}
	});

	test('stands on every record, and its value is corrected over account', () => {
		let corrected = 0;
		let account = 0;
		made.account.account_kg.forEach((m, i) => {
			if (made.records.combine[i] !== 0) return;
			corrected += m * found().factor[i]!;
			account += m;
		});
		expect(corrected / account).toBeCloseTo(found().factors[0]!.value, 10);
		expect(found().u_rel.every((u) => u > 0 && u < 0.05)).toBe(true);
	});

	test('has a budget whose shares add up to one, and advice in words and numbers', () => {
		for (const f of found().factors) {
			expect(f.budget.reduce((s, l) => s + l.share, 0)).toBeCloseTo(1, 10);
			expect(Math.hypot(...f.budget.map((l) => l.u_rel))).toBeCloseTo(f.u_rel, 6);
			expect(f.advice[0]).toMatch(/[AB].*reads \d\.\d% (low|high) \(95% interval \d\.\d to \d\.\d%\)/);
			expect(f.advice.join(' ')).toMatch(/more dumps are not needed/);
		}
		expect(found().factors[1]!.advice.join(' ')).toMatch(
			/To enter on B’s monitor \(dump: monitor weight, reference weight\)/,
		);
	});
});

test('a single bad weight is set aside, named, and does no harm', () => {
	for (const off of [1.12, 0.85]) {
		const made = make({ seed: 3 });
		const bad = made.match.weighings[5]!;
		bad.weight_kg *= off;
		bad.reference_kg *= off;
		const found = solve(made);
		expect(found.aside!.map((a) => a.weighing)).toEqual([5]);
		expect(found.aside![0]!.reason).toMatch(off > 1 ? /1\d% heavier/ : /1\d% lighter/);
		expect(found.factors[0]!.n).toBe(11);
		made.match.fates = made.match.weighings.map((w, i) => ({
			dump: w.dumps[0]!,
			combines: [0],
			combineSource: 'noted' as const,
			status: 'used' as const,
			reason: null,
			fill: `A${i + 1}`,
			unloadings: w.unloadings,
			start_s: 0,
			end_s: 0,
			inDoubt: false,
		}));
		const after = afterFactors(made.match, found);
		expect(after.fates.filter((f) => f.status === 'aside').map((f) => [f.dump, f.reason])).toEqual([
			[5, found.aside![0]!.reason],
		]);
		expect(after.weighings[5]!.used).toBe(false);
		expect(Math.abs(found.factors[0]!.value / made.truth[0]! - 1)).toBeLessThan(0.005);
	}
});

test('grain that stayed behind unnoted makes one load low and the next high, and neither is set aside', () => {
	const made = make({ seed: 4, slow: 0.004 });
	for (const [i, kg] of [
		[3, -700],
		[4, 700],
	] as const) {
		made.match.weighings[i]!.weight_kg += kg;
		made.match.weighings[i]!.reference_kg += kg;
	}
	const found = solve(made);
	expect(found.aside).toEqual([]);
	expect(found.factors[0]!.form).toBe('constant');
	expect(Math.abs(found.factors[0]!.value / made.truth[0]! - 1)).toBeLessThan(0.004);
});

test('where only the scale itself is the limit, no number of dumps is asked for but truck loads', () => {
	const limit = { ratio: 1, u_rel: 0.05 / Math.sqrt(3), limit_rel: 0.05, n: 0, df: Infinity, source: 'limit' as const };
	const f = solve(make({ seed: 2, reference: limit })).factors[0]!;
	expect(f.moreDumps).toBe(Infinity);
	expect(f.advice.join(' ')).toMatch(/Get tickets for three to five truckloads: more dumps cannot/);
});

test('without any weight factors are not known, and it is said', () => {
	const made = make({ seed: 2 });
	made.match.weighings = [];
	const found = solve(made);
	expect(found.factors.every((f) => f.source === null && Number.isNaN(f.value))).toBe(true);
	expect(found.factor.every(Number.isNaN)).toBe(true);
	expect(found.cautions!.join(' ')).toMatch(/to find how far the monitors are off/);
});

test('a pinned factor stands', () => {
	const made = make({ seed: 2 });
	made.plan.pins = { factors: { A: { value: 0.9 } } };
	const found = solve(made);
	const [pinned] = found.factors;
	expect(pinned!.value).toBe(0.9);
	expect(pinned!.source).toBe('pinned');
	expect(Math.abs(pinned!.weighed!.value / made.truth[0]! - 1)).toBeLessThan(0.005);
	expect(pinned!.weighed!.source).toBe('dumps');
	expect(pinned!.weighed!.n).toBe(12);
	expect(found.cautions!.join(' ')).toMatch(
		/factor of combine A, 0\.9, was set by hand.*difference shown: check the entry/,
	);
	expect(pinned!.advice[0]).toMatch(/A.*95% interval/);
	let corrected = 0;
	let account = 0;
	made.account.account_kg.forEach((m, i) => {
		if (made.records.combine[i] !== 0) return;
		corrected += m * found.factor[i]!;
		account += m;
	});
	expect(corrected / account).toBeCloseTo(0.9, 12);
	expect(Math.abs(found.factors[1]!.value / made.truth[1]! - 1)).toBeLessThan(0.005);
});

describe('a factor that no monitor has', () => {
	test.each([
		[
			'one log in lb/s',
			(c: number) => (c === 0 ? 0.45359237 : 1),
			/Combine|combine A is 0\.4\d+.*unit looks wrong in column flow_kg_s \(pounds and kilograms\)/,
		],
		[
			'weights in pounds',
			() => 2.2046,
			/all combines are 2\.[12]\d*.*unit looks wrong in column weight_kg \(pounds and kilograms\)/,
		],
		['weights in bushels', () => 1 / 25.401, /all combines are 0\.039.*column weight_kg \(bushels and kilograms\)/],
	])('%s: found all the same, and a caution names unit and column', (_, factor, words) => {
		const made = make({ seed: 5, factor: (c) => factor(c), reading_kg: 0.5 });
		const found = solve(made);
		found.factors.forEach((f, c) => {
			expect(Math.abs(f.value / made.truth[c]! - 1)).toBeLessThan(0.01);
		});
		expect(found.cautions!.filter((c) => c.includes('unit')).join(' ')).toMatch(words);
	});
	test('a usual factor has no such caution', () => {
		expect(solve(make({ seed: 5, factor: () => 1.12 })).cautions!.join(' ')).not.toMatch(/unit/);
	});
});
