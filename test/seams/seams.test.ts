import { describe, expect, test } from 'vitest';
import { findSeams, sampleSeams, seamJumps, withShape } from '../../lib/seams/index.ts';
import { type MadeGround, type MakeGround, makeGround } from './make.ts';

function jumpsOf(made: MadeGround, moistureOffset_pct = [0, 0, 0], factor: Float64Array | null = null) {
	const seams = findSeams({ ...made, varieties: null });
	const sampled = sampleSeams({ ...made, seams });
	const level_log = factor ? levels(made, factor) : null;
	return { seams, sampled, jumps: seamJumps(sampled, { level_log, covariance: null, moistureOffset_pct }) };
}

/** Logs of factors that are one to a combine. */
function levels(made: MadeGround, factor: Float64Array): number[] {
	return made.records.combines.map((_, c) => Math.log(factor[made.records.combine.indexOf(c)]!));
}

const TRUE = 100 * (1.06 / 0.98 - 1);
const sideBySide: Omit<MakeGround, 'seed'> = { combineOf: (p) => (p >> 1) % 2, factors: [0.98, 1.06] };
/** Blocks of twelve passes, 15 % from one side of the field to the other. */
const blocks: Omit<MakeGround, 'seed'> = {
	combineOf: (p) => Math.floor(p / 12) % 2,
	factors: [0.98, 1.06],
	passes: 72,
	trend_rel: 0.15,
};

describe('finding seams', () => {
	const { seams } = jumpsOf(makeGround({ ...sideBySide, seed: 1, passes: 12 }));
	test('every two neighboring passes meet once, along their whole length', () => {
		expect(seams.map((s) => `${Math.min(s.passA, s.passB)}-${Math.max(s.passA, s.passB)}`).sort()).toEqual(
			Array.from({ length: 11 }, (_, i) => `${i}-${i + 1}`).sort(),
		);
		for (const s of seams) expect(Math.abs(s.length_m - 400)).toBeLessThan(60);
	});
	test('the first of two combines is the one that stands first, and the line lies between the passes', () => {
		for (const s of seams) {
			expect(s.combineA).toBeLessThanOrEqual(s.combineB);
			const edge = 500_000 + 9 * Math.max(s.passA, s.passB);
			for (let k = 0; k < s.line_m.length; k += 2) expect(Math.abs(s.line_m[k]! - edge)).toBeLessThan(0.5);
		}
	});
});

test('side by side the jump is 100 × (factor of the second / factor of the first − 1), within its interval', () => {
	for (let seed = 1; seed <= 4; seed++) {
		const [jump] = jumpsOf(makeGround({ ...sideBySide, seed })).jumps;
		expect(Math.abs(jump!.before_pct - TRUE)).toBeLessThan(1.2);
		expect(100 * Math.expm1(jump!.log_jump)).toBeCloseTo(jump!.before_pct, 8);
		expect(jump!.after_pct).toBeNaN();
	}
});

test('blocks of 12 passes, a trend of 15 %: within 1.6 %, covered in at least 80 % of 20 fields; equal factors too', () => {
	let covered = 0;
	const errors: number[] = [];
	for (let seed = 1; seed <= 20; seed++) {
		const equal = seed % 2 === 0;
		const factors = equal ? [1.02, 1.02] : [0.98, 1.06];
		const [jump] = jumpsOf(makeGround({ ...blocks, factors, seed })).jumps;
		const truth = equal ? 0 : TRUE;
		errors.push(Math.abs(jump!.before_pct - truth));
		if (jump!.before_interval[0] <= truth && truth <= jump!.before_interval[1]) covered++;
		expect(jump!.before_interval[1] - jump!.before_interval[0]).toBeLessThan(8);
	}
	expect(covered).toBeGreaterThanOrEqual(16);
	// Rough ground (8 % from place to place) and five seams: one field in ten may be further off.
	expect(errors.filter((e) => e < 1.6).length).toBeGreaterThanOrEqual(18);
});

test('a reading that depends on the way of cutting does not show', () => {
	const even = jumpsOf(makeGround({ ...sideBySide, seed: 5 })).jumps[0]!;
	const skew = jumpsOf(makeGround({ ...sideBySide, seed: 5, direction_rel: 0.03 })).jumps[0]!;
	expect(Math.abs(skew.before_pct - even.before_pct)).toBeLessThan(0.3);
});

describe('grain that dried between the passes', () => {
	const late = {
		combineOf: (p: number) => Math.floor(p / 6) % 2,
		factors: [0.98, 1.06],
		start_h: [0, 6],
		drying_pct_h: 0.5,
	};
	test('is brought to one moisture, by each sensor with its offset', () => {
		const made = makeGround({ ...late, seed: 6, sensor_pct: [0.8, -0.4] });
		const [jump] = jumpsOf(made, [-0.8, 0.4]).jumps;
		expect(Math.abs(jump!.before_pct - TRUE)).toBeLessThan(1.6);
		expect(jump!.remarks.join(' ')).toMatch(/brought to the same moisture/);
		// Three points apart: left alone the jump would be off by more than three per cent.
		const dry = { ...made, track: { ...made.track, moisture_pct: made.track.moisture_pct.map(() => 18) } };
		expect(jumpsOf(dry).jumps[0]!.before_pct - jump!.before_pct).toBeGreaterThan(2.5);
	});
	test('sensors that read apart are no drying', () => {
		const made = makeGround({ ...sideBySide, seed: 7, sensor_pct: [0.8, -0.4] });
		const [jump] = jumpsOf(made).jumps;
		expect(jump!.moisture_diff_pct).toBeCloseTo(1.2, 1);
		expect(Math.abs(jump!.before_pct - TRUE)).toBeLessThan(1.2);
	});
});

test('seams where the variety changes are marked and left out', () => {
	const made = makeGround({
		...blocks,
		seed: 8,
		strip: (p) => (p < 24 ? 1 : 1.2),
		varietyOf: (p) => (p < 24 ? 'Early' : 'Late'),
	});
	const { seams, jumps } = jumpsOf(made);
	expect(seams.filter((s) => s.excluded !== null).map((s) => [s.passA, s.passB].sort((a, b) => a - b))).toEqual([
		[23, 24],
	]);
	expect(seams.find((s) => s.excluded !== null)!.excluded).toBe(
		'variety changes from Early to Late'.replace(
			/(Early)(.*)(Late)/,
			seams.find((s) => s.excluded !== null)!.passA === 23 ? '$1$2$3' : '$3$2$1',
		),
	);
	expect(Math.abs(jumps[0]!.before_pct - TRUE)).toBeLessThan(2);
	expect(jumps[0]!.remarks.join(' ')).toMatch(/variety changes/);
});

test('the halves of a planter are found in same-combine seams and taken out', () => {
	// A keeps to the better half except where both take two passes in turn.
	const combineOf = (p: number) => (p % 8 < 4 ? (p >> 1) % 2 : p % 2);
	const halves = { ...sideBySide, combineOf, patchy: 0.04, strip: (p: number) => (p % 2 === 0 ? 1.02 : 0.98) };
	for (const seed of [11, 12, 13]) {
		const [jump] = jumpsOf(makeGround({ ...halves, seed })).jumps;
		expect(jump!.remarks.join(' ')).toMatch(
			/in strips of .*\((8\.\d|9\.\d) m\), a pattern like that of two planter halves/,
		);
		expect(Math.abs(jump!.before_pct - TRUE)).toBeLessThan(1);
	}
	// Without strips none are found.
	const [plain] = jumpsOf(makeGround({ ...halves, seed: 11, strip: () => 1 })).jumps;
	expect(plain!.remarks.join(' ')).not.toMatch(/planter/);
});

test('one combine always on the same side is told', () => {
	const { jumps } = jumpsOf(
		makeGround({ ...blocks, combineOf: (p) => Math.floor(p / 12) % 3, factors: [1, 1.03, 0.98], seed: 9 }),
	);
	expect(jumps).toHaveLength(3);
	expect(jumps[0]!.remarks.join(' ')).toMatch(/always cut on the same side/);
});

test('a combine without a factor leaves the list of pairs as it was, its jump after correction not known', () => {
	const made = makeGround({ ...sideBySide, combineOf: (p) => (p >> 1) % 3, factors: [1, 1.03, 0.98], seed: 14 });
	const factor = Float64Array.from(made.records.combine, (c) => [1, Number.NaN, 0.98][c]!);
	const before = jumpsOf(made).jumps;
	const after = jumpsOf(made, [0, 0, 0], factor).jumps;
	const pair = (j: (typeof before)[number]) => `${j.combineA}-${j.combineB}`;
	expect(after.map(pair)).toEqual(before.map(pair));
	expect(after.map((j) => Number.isFinite(j.after_pct))).toEqual([false, true, false]);
});

test('with the factors applied the jump is near zero and its interval holds the factors’ uncertainty', () => {
	const made = makeGround({ ...sideBySide, seed: 10 });
	const factor = Float64Array.from(made.records.combine, (c) => sideBySide.factors[c]!);
	const { sampled, jumps } = jumpsOf(made, [0, 0], factor);
	const covariance = [1e-4, 0, 0, 1e-4];
	const [plain] = jumps;
	const [jump] = seamJumps(sampled, { level_log: levels(made, factor), covariance, moistureOffset_pct: [0, 0] });
	expect(Math.abs(jump!.after_pct)).toBeLessThan(1.2);
	expect(jump!.before_pct).toBeNaN();
	const width = (j: typeof jump) => j!.after_interval[1] - j!.after_interval[0];
	expect(width(jump)).toBeGreaterThan(width(plain) + 2);
});

test('a factor laid over every record and the same one given as a level make the same jump', () => {
	const made = makeGround({ ...sideBySide, seed: 15 });
	const factor = Float64Array.from(made.records.combine, (c) => [1.02, 0.95][c]!);
	const { sampled, jumps } = jumpsOf(made, [0, 0], factor);
	const shaped = withShape(sampled, made.account, factor);
	const [laid] = seamJumps(shaped, { level_log: [0, 0], covariance: null, moistureOffset_pct: [0, 0] });
	expect(laid!.after_pct).toBeCloseTo(jumps[0]!.after_pct, 8);
	expect(laid!.after_interval[0]).toBeCloseTo(jumps[0]!.after_interval[0], 8);
});
