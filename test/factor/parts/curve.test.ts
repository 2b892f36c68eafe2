import { describe, expect, it } from 'vitest';
import type { Play, Relation } from '../../../lib/factor/chain/play.ts';
import { acceptsCurve, showsCurve } from '../../../lib/factor/form/curve.ts';
import type { FlowSlope } from '../../../lib/factor/form/slopes.ts';
import { chained } from '../chained.ts';
import { make } from '../make.ts';

const slope = (more: Partial<FlowSlope> = {}): FlowSlope => ({
	combine: 0,
	slope: 0.01,
	u: 0.004,
	df: 10,
	pairs: 12,
	spread_kg_s: 2,
	why: null,
	...more,
});

/** An equation of no quantity at all: a normal density at `value`, which lowers −2 log-likelihood by nothing else. */
const off = (value: number): Relation => ({
	at: [{ combine: 0, coefficient: 0, by: 0 }],
	value,
	variance: 1,
	cause: 'prior',
	df: Infinity,
});

/** A chain of so many weights, with a level that fits worse than the curve by `gain` in −2 log-likelihood, or better. */
function chainWith(weights: number, gain: number) {
	const { chain, play } = chained(make({ seed: 1, combines: ['A'], fills: weights }), [...Array(weights).keys()]);
	const fitting = (value: number): Play => ({ ...play, relations: [off(value)] });
	const [level, curve] = [Math.sqrt(Math.max(0, gain)), Math.sqrt(Math.max(0, -gain))];
	return (of: FlowSlope) => acceptsCurve(chain, fitting(level), fitting(curve), of);
}

describe('a curve of seams and weights together', () => {
	it('by seams alone where weights say nothing', () => {
		const accepts = chainWith(6, 0);
		for (const u of [0.01 / 4.15, 0.01 / 4.14]) expect(accepts(slope({ u }))).toBe(showsCurve(slope({ u })));
		expect(accepts(slope({ u: 0.01 / 4.15, spread_kg_s: 1 }))).toBe(false);
		expect(accepts(slope({ slope: -0.01, u: 0.01 / 4.15, spread_kg_s: 1.01 }))).toBe(true);
	});

	it('squared standard errors at the seams and the weights’ reduction of misfit add up', () => {
		// t(0.999; 10) = 4.1437, squared 17.170; at the seams 2.5 standard errors, squared 6.25.
		expect(chainWith(6, 17.17 - 6.25 + 0.01)(slope())).toBe(true);
		expect(chainWith(6, 17.17 - 6.25 - 0.01)(slope())).toBe(false);
		expect(chainWith(2, 17.17 - 6.25 + 0.01)(slope())).toBe(true);
		// What the seams show clearly, weights may refute.
		expect(chainWith(6, -8)(slope({ u: 0.01 / 5 }))).toBe(false);
		expect(chainWith(6, -7.8)(slope({ u: 0.01 / 5 }))).toBe(true);
	});

	it('never by weights alone, where no seam shows the slope', () => {
		const blind = slope({ slope: Number.NaN, u: Number.NaN, df: 0, spread_kg_s: 0, why: 'driven at one speed' });
		expect(chainWith(12, 99)(blind)).toBe(false);
	});
});
