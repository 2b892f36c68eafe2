import { expect, test } from 'vitest';
import { mixtureInterval } from '../../lib/stats/index.ts';

test('one explanation keeps its interval; one alike changes nothing', () => {
	const [a, b] = mixtureInterval([{ weight: 1, interval: [0.9, 1.1] }]);
	expect(a).toBeCloseTo(0.9, 4);
	expect(b).toBeCloseTo(1.1, 4);
	const [c] = mixtureInterval([0.3, 0.7].map((weight) => ({ weight, interval: [0.9, 1.1] as const })));
	expect(c).toBeCloseTo(0.9, 4);
});

test('the points of two apart, by hand', () => {
	// Half and half, both narrow: 2.5 % of the whole is 5 % of the lower one, 1.645 standard deviations below its middle.
	const [low, high] = mixtureInterval([
		{ weight: 1, interval: [-0.196, 0.196] },
		{ weight: 1, interval: [9.804, 10.196] },
	]);
	expect(low).toBeCloseTo(-0.1645, 3);
	expect(high).toBeCloseTo(10.1645, 3);
});

test('a rare explanation reaches the interval only from one in forty on', () => {
	const far = (weight: number) =>
		mixtureInterval([
			{ weight: 1 - weight, interval: [-1, 1] },
			{ weight, interval: [9, 11] },
		])[1];
	expect(far(0.01)).toBeLessThan(1.3);
	expect(far(0.05)).toBeGreaterThan(9);
});
