import { describe, expect, it } from 'vitest';
import { mixed as mixedFor } from '../../../lib/factor/mix-hypotheses.ts';
import type { Factors } from '../../../lib/model/index.ts';
import { factorOf, factorsOf } from './hand.ts';

const one = (value: number, more = {}) => factorsOf([factorOf(0, value, more)]);
const mixed = (best: Factors, others: { weight: number; apart?: true; factors: Factors }[]) =>
	mixedFor(best, others, ['North', 'South', 'East']);

describe('factors over several explanations', () => {
	it('stay the best one’s where the others say the same', () => {
		const best = one(1);
		expect(mixed(best, [])).toBe(best);
		// Within a quarter of the standard uncertainty of 1 %, and not much less certain.
		expect(mixed(best, [{ weight: 0.4, factors: one(1.002) }])).toBe(best);
		expect(mixed(best, [{ weight: 0.4, factors: one(1.003) }])).not.toBe(best);
		expect(mixed(best, [{ weight: 0.4, factors: one(1, { u_rel: 0.0129 }) }])).toBe(best);
		expect(mixed(best, [{ weight: 0.4, factors: one(1, { u_rel: 0.0131 }) }])).not.toBe(best);
	});

	it('are averaged by their probabilities, and as uncertain as their spread', () => {
		const both = mixed(one(1), [{ weight: 0.25, factors: one(1.1) }]);
		const [f] = both.factors;
		expect(f!.value).toBeCloseTo(1.025, 9);
		// Variance: 0.75 (0.01² + 0.025²) + 0.25 (0.011² + 0.075²).
		const u = Math.sqrt(0.75 * (0.01 ** 2 + 0.025 ** 2) + 0.25 * (0.011 ** 2 + 0.075 ** 2));
		expect(f!.u_rel).toBeCloseTo(u / 1.025, 9);
		expect([...both.factor]).toEqual([f!.value, f!.value].map((v) => expect.closeTo(v, 9)));
		expect([...both.u_rel]).toEqual([f!.u_rel, f!.u_rel].map((v) => expect.closeTo(v, 9)));
		// Points of the mixture: 2.5 % of all lies under the lower of the two, 2.5 % over the upper.
		expect(f!.interval[0]).toBeGreaterThan(0.975);
		expect(f!.interval[0]).toBeLessThan(0.985);
		expect(f!.interval[1]).toBeGreaterThan(1.105);
		expect(f!.interval[1]).toBeLessThan(1.125);
		expect(f!.next_interval[0]).toBeLessThan(f!.interval[0]);
		expect(f!.next_interval[1]).toBeGreaterThan(f!.interval[1]);
	});

	it('one that is a different thing altogether widens the interval, but is in no mean', () => {
		const both = mixed(one(1), [{ weight: 0.2, factors: one(2.2046) }]);
		expect(both.factors[0]!.value).toBeCloseTo(1, 9);
		expect(both.factor[0]).toBeCloseTo(1, 9);
		expect(both.factors[0]!.interval[1]).toBeGreaterThan(2.2);
		const u = Math.sqrt(0.8 * 0.01 ** 2 + 0.2 * (0.022046 ** 2 + 1.2046 ** 2));
		expect(both.factors[0]!.u_rel).toBeCloseTo(u, 6);
		expect(both.u_rel[0]).toBeCloseTo(u, 6);
		// So does a truckload more or less.
		const load = mixed(one(1), [{ weight: 0.2, apart: true, factors: one(1.1) }]);
		expect(load.factors[0]!.value).toBeCloseTo(1, 9);
		expect(load.factor[0]).toBeCloseTo(1, 9);
		expect(load.factors[0]!.interval[1]).toBeGreaterThan(1.1);
		// A quarter more or less is the limit.
		expect(mixed(one(1), [{ weight: 0.5, factors: one(1.24) }]).factors[0]!.value).toBeCloseTo(1.12, 9);
		expect(mixed(one(1), [{ weight: 0.5, factors: one(1.26) }]).factors[0]!.value).toBeCloseTo(1, 9);
	});

	it('are advised on as mixed, not as the best one alone', () => {
		const alone = {
			budget: [{ name: 'scale', u_rel: 0.01, share: 1, advice: 'tickets' }],
			moreDumps: 0,
			advice: ['it reads 0.0% high', 'The factor is within ±1%', 'Check again.'],
		};
		const best = one(1, alone);
		const [f] = mixed(best, [{ weight: 0.4, factors: one(1.2) }]).factors;
		expect(f!.advice).toEqual([
			expect.stringMatching(/^Decide first: .*more than one way/),
			expect.stringMatching(/^Weigh more dumps of North: .*−18.0 to \+1.8%/),
			'Check again.',
		]);
		expect(f!.moreDumps).toBeNaN();
		expect(f!.budget[0]!.name).toBe('more than one explanation of the weights');
		expect(Math.hypot(...f!.budget.map((line) => line.u_rel))).toBeCloseTo(f!.u_rel, 9);
		expect(f!.budget.reduce((sum, line) => sum + line.share, 0)).toBeCloseTo(1, 9);
	});

	it('a changing factor keeps its form, scaled', () => {
		const best = one(1, {
			changes: [{ time_s: 7, value: 0.9 }],
			knots: [{ time_s: 8, value: 1.1 }],
			curve: [{ flow_kg_s: 9, value: 1.2 }],
		});
		const { factors } = mixed(best, [{ weight: 0.5, factors: one(1.1) }]);
		expect(factors[0]!.changes).toEqual([{ time_s: 7, value: expect.closeTo(0.945, 9) }]);
		expect(factors[0]!.knots).toEqual([{ time_s: 8, value: expect.closeTo(1.155, 9) }]);
		expect(factors[0]!.curve).toEqual([{ flow_kg_s: 9, value: expect.closeTo(1.26, 9) }]);
		expect(best.factors[0]!.changes[0]!.value).toBe(0.9);
	});

	it('a combine without a factor, in the best or in all others, is left as it is', () => {
		const best = factorsOf([factorOf(0, 1), factorOf(1, Number.NaN, { source: null }), factorOf(2, 1)]);
		const other = factorsOf([factorOf(0, 1.1), factorOf(1, 1), factorOf(2, Number.NaN, { source: null })]);
		const { factors, factor } = mixed(best, [{ weight: 0.5, factors: other }]);
		expect(factors[0]!.value).toBeCloseTo(1.05, 9);
		expect(factors[1]).toBe(best.factors[1]);
		expect(factors[2]).toBe(best.factors[2]);
		expect([...factor.slice(2, 4)]).toEqual([Number.NaN, Number.NaN]);
	});

	it('covariances are within explanations and between them', () => {
		const best = factorsOf([factorOf(0, 1), factorOf(1, 1)], 2, [1e-4, 4e-5, 4e-5, 1e-4]);
		const other = factorsOf([factorOf(0, 1.1), factorOf(1, 1.1)], 2, [1e-4, 8e-5, 8e-5, 1e-4]);
		const { factors, covariance } = mixed(best, [{ weight: 0.5, factors: other }]);
		expect(covariance[0]).toBeCloseTo(factors[0]!.u_rel ** 2, 12);
		expect(covariance[3]).toBeCloseTo(factors[1]!.u_rel ** 2, 12);
		const apart = [1, 1.1].map((v) => Math.log(v / 1.05) ** 2);
		const between = 0.5 * (4e-5 + apart[0]!) + 0.5 * (8e-5 + apart[1]!);
		expect(covariance[1]).toBeCloseTo(between, 9);
		expect(covariance[2]).toBeCloseTo(between, 9);
		// Where an explanation has no such covariance, the best one's own.
		other.covariance[1] = Number.NaN;
		expect(mixed(best, [{ weight: 0.5, factors: other }]).covariance[1]).toBe(4e-5);
	});
});
