import { expect, test } from 'vitest';
import { silent } from '../../lib/model/index.ts';
import { factorsOf } from '../../lib/pipeline/factors.ts';
import { make } from '../factor/make.ts';

test('where the tickets may be wrong the factors are the mixture over both, and the total’s with them', () => {
	const made = make({ seed: 52 });
	const { reference } = made;
	const wrong = { ...reference, ratio: 1.04, interval: [1.036, 1.044] as [number, number] };
	const either = [
		{ weight: 0.7, reference },
		{ weight: 0.3, reference: wrong },
	];
	// Weights come at the mixture's ratio.
	const ratio = 0.7 * reference.ratio + 0.3 * wrong.ratio;
	for (const w of made.match.weighings) w.reference_kg = w.weight_kg * ratio;
	const mixed = { ...made, reference: { ...reference, ratio, either }, seams: [], jumps: [] };
	const { factors, covariance } = factorsOf(mixed, silent).factors;
	factors.forEach((f, c) => {
		const truth = made.truth[c]!;
		expect(Math.abs(f.value / truth / ratio - 1)).toBeLessThan(0.006);
		expect(f.interval[0]).toBeLessThan(truth);
		expect(f.interval[1]).toBeGreaterThan(1.04 * truth);
		expect(f.u_rel).toBeCloseTo(0.04 * Math.sqrt(0.7 * 0.3), 2);
	});
	// Both follow the same tickets: what is open between them is common.
	expect(covariance[1]! / Math.sqrt(covariance[0]! * covariance[3]!)).toBeGreaterThan(0.95);
});
