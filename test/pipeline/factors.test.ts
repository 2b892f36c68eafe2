import { expect, test } from 'vitest';
import { silent } from '../../lib/model/index.ts';
import { factorsOf } from '../../lib/pipeline/factors.ts';
import { POUND_KG } from '../../lib/units/index.ts';
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

test('an explanation in other units widens the interval; the value is no mean of both', () => {
	const made = { ...make({ seed: 53 }), seams: [], jumps: [] };
	const plain = factorsOf(made, silent).factors;
	// The same weights read as if each were 2.2046 times as heavy.
	const weighings = made.match.weighings.map((w) => ({ ...w, reference_kg: w.reference_kg * 2.2046 }));
	const alternatives = [{ weight: 0.3, match: { ...made.match, weighings } }];
	const { factors, factor } = factorsOf({ ...made, match: { ...made.match, alternatives } }, silent).factors;
	factors.forEach((f, c) => {
		expect(f.value).toBeCloseTo(plain.factors[c]!.value, 6);
		expect(f.interval[0]).toBeLessThan(f.value);
		expect(f.interval[1]).toBeGreaterThan(2 * f.value);
		expect(f.u_rel).toBeGreaterThan(0.3);
	});
	expect(factor[0]).toBeCloseTo(plain.factor[0]!, 6);
});

test('a factor set by hand is for the files as given, whatever unit the match supposes', () => {
	const made = { ...make({ seed: 54 }), seams: [], jumps: [] };
	const set = (value: number) => ({ ...made, plan: { ...made.plan, pins: { factors: { A: { value } } } } });
	// The match is in kilograms; the weights are written in pounds.
	const under = { weight_kg: POUND_KG, account: made.account, scale: null, seams: [], book: made.book };
	const pounds = set(2.3);
	const { factors, factor, cautions } = factorsOf({ ...pounds, match: { ...pounds.match, under } }, silent).factors;
	const kilograms = factorsOf(set(2.3 * POUND_KG), silent).factors;
	expect(factors[0]).toMatchObject({ source: 'pinned', u_rel: 0 });
	expect(factors[0]!.value).toBeCloseTo(2.3, 12);
	expect(factor[0]).toBeCloseTo(2.3, 9);
	factors.forEach((f, c) => {
		const plain = kilograms.factors[c]!;
		expect(f.value).toBeCloseTo(plain.value / POUND_KG, 9);
		expect(f.next_interval[1]).toBeCloseTo(plain.next_interval[1] / POUND_KG, 9);
	});
	const { weighed } = factors[0]!;
	expect(weighed!.value).toBeCloseTo(kilograms.factors[0]!.weighed!.value / POUND_KG, 9);
	expect(weighed!.interval[0]).toBeCloseTo(kilograms.factors[0]!.weighed!.interval[0] / POUND_KG, 9);
	const said = `The factor of combine A, 2.3, was set by hand. The weights give ${weighed!.value.toFixed(3)} (`;
	expect(cautions!.filter((c) => c.startsWith(said))).toHaveLength(1);
});
