import { expect, test } from 'vitest';
import { solveFactors } from '../../lib/factor/index.ts';
import { silent } from '../../lib/model/index.ts';
import { make } from './make.ts';

/** Two monitors that stay as they are, and a cart that weighs less from some moment on. */
function losing(seed: number, rel: number) {
	const made = make({ seed, fills: 14, factor: (c) => (c ? 1.04 : 0.96) });
	const start = made.records.time_s[0]!;
	made.match.weighings.forEach((w) => {
		if (made.match.unloadings[w.unloadings[0]!]!.end_s - start < 3400) return;
		w.weight_kg *= 1 - rel;
		w.reference_kg *= 1 - rel;
	});
	return { made, start };
}

test.each([41, 42, 43])(
	'a cart that loses 8 per cent at mid-day is named, not two recalibrations (seed %i)',
	(seed) => {
		const { made } = losing(seed, 0.08);
		const found = solveFactors({ ...made, seams: [], jumps: [] }, silent);
		expect(found.factors.map((f) => f.form)).toEqual(['constant', 'constant']);
		expect(found.cautions!.join(' ')).toMatch(
			/combines A and B changed together.*cart's scale changed, not the monitors/s,
		);
		// Nothing tells which side is right: both are inside.
		found.factors.forEach((f, c) => {
			expect(f.interval[0]).toBeLessThan(0.925 * made.truth[c]! + 0.005);
			// 95 % of two explanations: the truth lies at the end of one of them.
			expect(f.interval[1]).toBeGreaterThan(0.998 * made.truth[c]!);
		});
	},
);

test('with truck loads before it the right side is known', () => {
	const { made, start } = losing(44, 0.08);
	made.reference.loads = [1, 2, 3].map((i) => ({
		truckLoad: String(i),
		cart_kg: 20_000,
		ticket_kg: 20_000,
		used: true,
		reason: null,
		time_s: start + 800 * (i - 1),
		scale: null,
		rel: 0,
		side_kg: 20_000,
	}));
	const found = solveFactors({ ...made, seams: [], jumps: [] }, silent);
	found.factors.forEach((f, c) => {
		expect(Math.abs(f.value / made.truth[c]! - 1)).toBeLessThan(0.01);
		expect(f.interval[0] < made.truth[c]! && made.truth[c]! < f.interval[1]).toBe(true);
	});
});

test('one monitor that steps is no fault of the cart', () => {
	const made = make({ seed: 45, fills: 14, factor: (c, h) => (c === 0 && h > 0.9 ? 0.92 : 1) });
	const found = solveFactors({ ...made, seams: [], jumps: [] }, silent);
	expect(found.factors.map((f) => f.form)).toEqual(['step', 'constant']);
	expect(found.cautions!.join(' ')).not.toMatch(/cart's scale changed/);
});
