import { describe, expect, it } from 'vitest';
import { coverageOf } from '../../../lib/factor/coverage.ts';
import { helpfulJumps } from '../../../lib/factor/seamrelations.ts';
import { chained } from '../chained.ts';
import { make } from '../make.ts';
import { jump } from './hand.ts';

/** The jumps of a field of two combines that determine more than these weights: A's are 0 to 3, B's 4 to 7. */
function helpful(use: number[], jumps: ReturnType<typeof jump>[]) {
	const made = make({ seed: 3, fills: 4 });
	const { chain, play } = chained(made, use);
	return helpfulJumps(chain, play, jumps, coverageOf(made.match, use, jumps, 2));
}

describe('jumps that determine more than the weights', () => {
	const seam = jump(0, 1, { u_log: 0.01 });
	it('of a combine without a weight', () => {
		expect(helpful([0, 1, 2, 3], [seam])).toEqual([seam]);
		expect(helpful([4, 5, 6, 7], [seam])).toEqual([seam]);
	});
	it('not of two combines whose weights determine their difference as well', () => {
		const all = [0, 1, 2, 3, 4, 5, 6, 7];
		expect(helpful(all, [seam])).toEqual([]);
		expect(helpful(all, [jump(0, 1, { u_log: 0.03 })])).toEqual([]);
	});
	it('nor where the seam’s uncertainty is more than half of the prior’s', () => {
		// Prior of a monitor: 12 %.
		const vague = jump(0, 1, { u_log: 0.07 });
		expect(helpful([0, 1, 2, 3], [vague])).toEqual([]);
		expect(helpful([0, 1, 2, 3], [jump(0, 1, { u_log: 0.05 })])).toHaveLength(1);
	});
	it('nor one that cannot be used, or of combines that nothing was weighed of', () => {
		expect(helpful([0], [jump(0, 1, { u_log: Number.NaN }), jump(0, 0)])).toEqual([]);
		expect(helpful([], [seam])).toEqual([]);
	});
});
