import { describe, expect, test } from 'vitest';
import { solveFactors } from '../../lib/factor/index.ts';
import { silent } from '../../lib/model/index.ts';
import { type Made, make, once } from './make.ts';

function solve(made: Made) {
	return solveFactors({ ...made, seams: [], jumps: [] }, silent);
}

/** Account-weighted root mean square error of the records' factors. */
function recordError(made: Made, factor: Float64Array, combine: number, truth: (hours: number) => number): number {
	const start = made.records.time_s[0]!;
	let squares = 0;
	let n = 0;
	for (let i = 0; i < made.records.n; i++) {
		if (made.records.combine[i] !== combine) continue;
		squares += (factor[i]! / truth((made.records.time_s[i]! - start) / 3600) - 1) ** 2;
		n++;
	}
	return Math.sqrt(squares / n);
}

describe('a drift of 3.5 % an hour', () => {
	const truth = (hours: number) => 1.03 * Math.exp(-0.035 * hours);
	const made = make({ seed: 5, fills: 20, factor: (c, h) => (c === 0 ? truth(h) : 0.97) });
	const found = once(() => solve(made));
	test('is named, and the other combine stays constant', () => {
		expect(found().factors.map((f) => f.form)).toEqual(['trend', 'constant']);
		expect(found().factors[0]!.knots.length).toBeGreaterThanOrEqual(2);
		expect(found().factors[0]!.advice.join(' ')).toMatch(/drifted by −3\.\d% per hour/);
	});
	test('is taken out of the records, without a step', () => {
		expect(recordError(made, found().factor, 0, truth)).toBeLessThan(0.015);
		let largest = 0;
		for (let i = 1; i < made.records.n; i++) {
			if (made.records.combine[i] === 0 && made.records.combine[i - 1] === 0) {
				largest = Math.max(largest, Math.abs(found().factor[i]! / found().factor[i - 1]! - 1));
			}
		}
		expect(largest).toBeLessThan(1e-3);
	});
	test('leaves corrected mass equal to reference mass', () => {
		const reference = made.match.weighings.slice(0, 20).reduce((s, w) => s + w.reference_kg, 0);
		let corrected = 0;
		for (let i = 0; i < made.records.n; i++) {
			if (made.records.combine[i] === 0) corrected += made.account.account_kg[i]! * found().factor[i]!;
		}
		expect(Math.abs(corrected / reference - 1)).toBeLessThan(1e-3);
	});
});

describe('a step of −10 %', () => {
	const at = 1.13;
	const truth = (hours: number) => (hours < at ? 1.02 : 0.918);
	const made = make({ seed: 6, fills: 18, factor: (c, h) => (c === 0 ? truth(h) : 0.97) });
	const found = once(() => solve(made));
	test('is named, near its moment, even in the middle of a fill', () => {
		expect(found().factors.map((f) => f.form)).toEqual(['step', 'constant']);
		const change = found().factors[0]!.changes[1]!;
		expect(Math.abs(change.time_s - made.records.time_s[0]! - at * 3600)).toBeLessThan(200);
		expect(change.value / found().factors[0]!.changes[0]!.value).toBeCloseTo(0.9, 1);
	});
	test('is taken out of the records', () => {
		expect(recordError(made, found().factor, 0, truth)).toBeLessThan(0.02);
	});
});

test('a known event needs less proof, and the step falls on it', () => {
	const made = make({ seed: 8, fills: 12, slow: 0.004, factor: (c, h) => (c === 0 && h > 0.8 ? 0.96 : 1) });
	const time_s = made.records.time_s[0]! + 0.8 * 3600;
	made.plan.events = [{ time_s, combine: 'A', kind: 'calibrated', note: null }];
	const found = solve(made);
	expect(found.factors[0]!.form).toBe('step');
	expect(found.factors[0]!.changes[1]!.time_s).toBe(time_s);
	expect(found.factors[1]!.form).toBe('constant');
});

test('an event that changed nothing makes no step', () => {
	let steps = 0;
	for (let seed = 1; seed <= 10; seed++) {
		const made = make({ seed, combines: ['A'] });
		made.plan.events = [{ time_s: made.records.time_s[0]! + 2900, combine: 'A', kind: 'calibrated', note: null }];
		if (solve(made).factors[0]!.form !== 'constant') steps++;
	}
	expect(steps).toBeLessThanOrEqual(1);
});

test('a form that is pinned is taken', () => {
	const made = make({ seed: 9 });
	made.plan.pins = { factors: { B: { form: 'trend' } } };
	expect(solve(made).factors.map((f) => f.form)).toEqual(['constant', 'trend']);
});
