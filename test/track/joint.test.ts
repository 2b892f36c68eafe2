import { describe, expect, it } from 'vitest';
import { jointUncertainty } from '../../lib/track/lag/jackknife.ts';

/** Folds whose own best sums and differences of two settings scatter by 0.1 and by 1, the sum weighing nine times. */
const SUMS = [0.1, -0.1, 0.1, -0.1, 0.1, -0.1, 0.1, -0.1];
const DIFFERENCES = [1, 1, -1, -1, 1, 1, -1, -1];

const valley = ([a, b]: number[]) => ({
	sum: Float64Array.from(SUMS, (s, k) => 9 * (a! + b! - s) ** 2 + (a! - b! - DIFFERENCES[k]!) ** 2),
	count: new Float64Array(SUMS.length).fill(1),
});

describe('uncertainty of settings found together', () => {
	it('is that of the leave-one-out estimates, worked by hand, where each alone would look much better known', () => {
		// Best sum and difference without fold k: minus a seventh of the fold's own, for both have mean 0. So
		// a = (sum + difference) / 2 moves by (s + d) / 14, and the jackknife's u² is 7/8 of the sum of squares.
		const move2 = SUMS.reduce((q, s, k) => q + ((s + DIFFERENCES[k]!) / 14) ** 2, 0);
		const u = jointUncertainty(valley, [0, 0], [0.75, 0.75], () => true)!;
		expect(u[0]).toBeCloseTo(Math.sqrt((7 / 8) * move2), 10);
		const alone = jointUncertainty(valley, [0, 0], [0.75, 0.75], () => false)!;
		expect(alone[0]).toBeLessThan(0.6 * u[0]!);
	});

	it('is not made up where the valley has no bottom', () => {
		const trough = ([a, b]: number[]) => ({
			sum: Float64Array.from(SUMS, (s) => (a! + b! - s) ** 2),
			count: new Float64Array(SUMS.length).fill(1),
		});
		expect(jointUncertainty(trough, [0, 0], [0.75, 0.75], () => true)).toBeNull();
	});
});
