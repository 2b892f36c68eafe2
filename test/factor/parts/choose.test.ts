import { describe, expect, it } from 'vitest';
import { ownWeights } from '../../../lib/factor/chain/chain.ts';
import { likelihood, type Play, taped } from '../../../lib/factor/chain/play.ts';
import { chooseForm, predict, stepAt, trendOf } from '../../../lib/factor/form/choose.ts';
import { CONSTANT, type Shape } from '../../../lib/factor/form/shape.ts';
import { seeded } from '../../../lib/stats/index.ts';
import { chained } from '../chained.ts';
import { type Make, make } from '../make.ts';
import { weighing } from './hand.ts';

const START_S = 1_760_000_000;
/** Time at so many tank loads of eight minutes each. */
const past = (loads: number) => START_S + 480 * loads;

/** One combine's weights, of which the `w`-th is `off(w)` more than its monitor has it, relative. */
function field(off: (w: number) => number, more: Partial<Make> & { use?: number[] } = {}) {
	const { use, ...rest } = more;
	const made = make({ seed: 3, combines: ['A'], fills: 12, slow: 0, reading_kg: 0, ...rest });
	const all = made.match.weighings.map((_, w) => w);
	for (const w of all) made.match.weighings[w]!.reference_kg *= 1 + off(w);
	const { chain, play: usual } = chained(made, use ?? all);
	const prior: Play['prior'] = (_, j) => (j === 0 ? usual.prior() : { mean: 0, u: 0.3 });
	return { chain, play: { ...usual, prior, sigma: 0.006 } };
}
/** Weights that scatter by so much, always alike. */
const noise = (sd: number, seed = 5) => {
	const random = seeded(seed);
	const values = Array.from({ length: 60 }, () => sd * random.normal());
	return (w: number) => values[w]!;
};
const choose = (off: (w: number) => number, more: Parameters<typeof field>[1] = {}, events: number[] = []) => {
	const { chain, play } = field(off, more);
	return chooseForm(chain, play, 0, events);
};

describe('weights of one combine alone', () => {
	it('are those of its grain alone, without totals', () => {
		const { chain } = field(() => 0, { combines: ['A', 'B'], fills: 3 });
		const [a, b, mixed, total, none, ticket] = [
			weighing([0]),
			weighing([3]),
			weighing([1, 4], { kind: 'dump' }),
			weighing([], { kind: 'total' }),
			weighing([]),
			weighing([1, 2], { kind: 'ticket' }),
		];
		const match = { ...chain.match, weighings: [a, b, mixed, total, none, ticket] };
		const some = { ...chain, match, order: [5, 4, 3, 2, 1, 0] };
		expect([0, 1].map((c) => ownWeights(some, c))).toEqual([[5, 0], [1]]);
	});
});

describe('shapes', () => {
	it('a step at a moment', () => {
		expect(stepAt(7)).toEqual({ ...CONSTANT, form: 'step', changes_s: [7] });
	});
	it('a trend over the time that was weighed', () => {
		const all = trendOf(field(() => 0).chain, 0)!;
		expect(all).toMatchObject({ form: 'trend', middle_s: past(6), half_s: 6 * 480 });
		const some = trendOf(field(() => 0, { use: [3, 4, 8] }).chain, 0)!;
		expect([some.middle_s, some.half_s]).toEqual([past(6), 3 * 480]);
		expect(trendOf(field(() => 0, { use: [] }).chain, 0)).toBeNull();
		expect(trendOf(field(() => 0).chain, 1)).toBeNull();
	});
});

describe('a prediction of weights held out', () => {
	const own = (n: number) => [...Array(n).keys()];
	it('of few is of each from all others: what it takes from their joint likelihood', () => {
		const { chain, play } = field(noise(0.01), { fills: 6 });
		const found = predict(chain, play, 0, own(6));
		const all = likelihood(chain, play);
		let misfit = 0;
		for (const w of own(6)) {
			const without = field(noise(0.01), { fills: 6, use: own(6).filter((v) => v !== w) });
			// Log density of the one given the others, a normal one: its misfit is what it lacks of its greatest.
			const density = all - likelihood(without.chain, without.play);
			const far = field((v) => noise(0.01)(v) + (v === w ? 1e-4 : 0), { fills: 6 });
			const near = field((v) => noise(0.01)(v) - (v === w ? 1e-4 : 0), { fills: 6 });
			const [up, down] = [far, near].map(
				(f) => likelihood(f.chain, f.play) - likelihood(without.chain, without.play),
			) as [number, number];
			const [slope, bend] = [(up - down) / 2, up + down - 2 * density];
			const one = slope ** 2 / -bend;
			expect(found.singles.get(w)! / one).toBeCloseTo(1, 2);
			misfit += one;
		}
		expect(found.misfit / misfit).toBeCloseTo(1, 2);
		expect(found.count).toBe(6);
	});

	it('is in blocks of one, two or three, twice, shifted by half of one', () => {
		const count = (n: number) => {
			const { chain, play } = field(noise(0.01), { fills: n });
			return predict(chain, play, 0, own(n)).count;
		};
		// From eight on single ones at an end are left out: 8 and 6 of 8; 10 and 10 of 11; 12 and 11 of 12; 12 and 12 of 13.
		expect([7, 8, 11, 12, 13].map(count)).toEqual([7, 7, 10, 11.5, 12]);
		const { chain, play } = field(() => 0, { fills: 3 });
		expect(predict(chain, play, 0, []).count).toBe(1);
	});

	it('is as far off, relative to the weights, as these scatter about each other', () => {
		const alternating = (n: number) => {
			const { chain, play } = field((w) => (w % 2 ? 0.01 : -0.01), { fills: n });
			const rest = { kg: new Float64Array(n + 1), u_kg: new Float64Array(n + 1) };
			return predict(chain, { ...play, sigma: 1e-6, rest }, 0, own(n)).relative;
		};
		// The others are 0.2 % off to the other side, three against two.
		expect(alternating(6)).toBeCloseTo(0.012, 4);
		// In blocks of two the errors of neighbors cancel.
		expect(alternating(8)).toBeLessThan(0.0005);
		const { chain, play } = field(() => 0, { fills: 6 });
		const none = predict(chain, play, 0, []);
		expect([none.relative, none.misfit]).toEqual([0, 0]);
	});

	it('has what the last coefficient explains, as one over its prior would', () => {
		const shape = stepAt(past(6));
		const { chain, play } = field((w) => noise(0.002)(w) + (w < 6 ? 0.03 : 0));
		const step: Play = { ...play, shapes: [shape] };
		const none: Play = { ...step, prior: (c, j) => (j === 0 ? play.prior(c, j) : { mean: 0, u: 0 }) };
		const { at, tape } = taped(chain, step);
		const slot = at.factor[0]! + 1;
		const variance = tape.P[slot * tape.n + slot]!;
		// Of a normal prior N(0, 0.3²) and posterior: twice the log of their Bayes factor is x²/V less ln(0.3²/V).
		const bayes = 2 * (likelihood(chain, step) - likelihood(chain, none));
		expect(predict(chain, step, 0, own(12)).taken).toBeCloseTo(bayes + Math.log(0.09 / variance), 2);
	});

	it('has the gain of a step before each piece of its own grain', () => {
		const { chain, play } = field((w) => noise(0.002)(w) + (w < 6 ? 0.03 : 0), { combines: ['A', 'B'] });
		for (const c of [0, 1]) {
			const { steps } = predict(chain, play, c, ownWeights(chain, c));
			expect(steps.length).toBe(24);
			for (const { index } of steps) {
				const step = chain.steps[index]!;
				expect(step.do === 'in' && chain.time.segments[step.segment]!.combine).toBe(c);
			}
		}
	});
});

describe('the form of a factor', () => {
	const step =
		(from: number, by: number, sd = 0.002) =>
		(w: number) =>
			noise(sd)(w) + (w < from ? by : 0);
	it('is constant where nothing else predicts weights better', () => {
		const found = choose(noise(0.004));
		expect(found).toMatchObject({ shape: CONSTANT, noted: false });
		expect(found.tried.map((t) => t.form)).toEqual(['constant', 'step', 'trend']);
		expect(Object.keys(found.gains).sort()).toEqual(['drift', 'searched']);
	});

	it('is a step at the moment from which the weights differ', () => {
		const found = choose(step(5, 0.05));
		expect(found.shape).toEqual(stepAt(past(5)));
		expect(found.noted).toBe(false);
		expect(found.gains.searched).toBeGreaterThan(20);
		const [constant, stepped] = found.tried;
		expect(stepped!.score).toBeLessThan(0.3 * constant!.score);
		expect(choose(step(5, -0.05)).shape).toEqual(stepAt(past(5)));
	});

	it('is a trend where they go on changing', () => {
		const found = choose((w) => noise(0.002)(w) + 0.006 * w);
		expect(found.shape).toMatchObject({ form: 'trend', middle_s: past(6), half_s: 6 * 480 });
		expect(found.gains.drift).toBeGreaterThan(found.gains.searched!);
	});

	it('is two steps where it changed twice, at events even where neither shows without the other', () => {
		const down = (w: number) => noise(0.002)(w) + (w >= 4 && w < 8 ? -0.08 : w >= 8 ? 0.01 : 0);
		const both = { form: 'step', changes_s: [past(4), past(8)] };
		expect(choose(down, {}, [past(8), past(4)])).toMatchObject({ shape: both, noted: true });
		const up = (w: number) => noise(0.002)(w) + 0.08 * Number(w >= 4) + 0.03 * Number(w >= 8);
		expect(choose(up).shape).toMatchObject(both);
		// A pulse of two weights is not told from weights that are wrong.
		expect(choose((w) => noise(0.002)(w) + (w === 5 || w === 6 ? 0.05 : 0)).shape).toBe(CONSTANT);
	});

	it('needs four weights, and five without an event', () => {
		expect(choose(step(2, 0.1), { fills: 3 }, [past(2)])).toEqual({
			shape: CONSTANT,
			tried: [],
			gains: {},
			noted: false,
		});
		const four = choose(step(2, 0.1), { fills: 4 }, [past(2)]);
		expect(four).toMatchObject({ shape: stepAt(past(2)), noted: true });
		expect(Object.keys(four.gains)).toEqual(['noted']);
		expect(four.tried.map((t) => t.form)).toEqual(['constant', 'step']);
		const bare = choose(step(2, 0.1), { fills: 4 });
		expect(bare).toMatchObject({ shape: CONSTANT, gains: {} });
		expect(bare.tried.map((t) => t.form)).toEqual(['constant']);
		expect(Object.keys(choose(step(2, 0.1), { fills: 5 }).gains).sort()).toEqual(['drift', 'searched']);
	});

	it('has a step at an event with a weight on either side, told less clearly than one that was searched for', () => {
		// A gain of 3.5 is enough at an event; one of 9.5 where the moment was searched for.
		const small = step(6, 0.015, 0.004);
		const searched = choose(small);
		expect(searched.shape.form).toBe('constant');
		const found = choose(small, {}, [past(6)]);
		expect(found).toMatchObject({ shape: stepAt(past(6)), noted: true });
		expect(found.gains.noted).toBeGreaterThan(3.5);
		expect(found.gains.noted).toBeLessThan(9.5);
		// Before the first, after the last, or with none of its own on a side.
		expect(Object.keys(choose(small, {}, [past(-1), past(99)]).gains).sort()).toEqual(['drift', 'searched']);
		expect(Object.keys(choose(small, {}, [past(0.2)]).gains)).not.toContain('noted');
		expect(Object.keys(choose(small, {}, [past(1)]).gains)).toContain('noted');
		expect(Object.keys(choose(small, {}, [past(11)]).gains)).toContain('noted');
		expect(Object.keys(choose(small, {}, [past(11.3)]).gains)).not.toContain('noted');
	});

	it('keeps to the event unless another moment is much better', () => {
		// Both are clear here, and the event is a tank load from where the weights change.
		const near = choose(step(6, 0.03), {}, [past(7)]);
		expect(near.gains.searched! - 9.5).toBeGreaterThan(near.gains.noted! - 3.5);
		expect(near).toMatchObject({ shape: stepAt(past(7)), noted: true });
		const far = choose(step(6, 0.04), {}, [past(5)]);
		expect(far.gains.noted).toBeGreaterThan(3.5);
		expect(far.gains.searched! - 9.5).toBeGreaterThan(far.gains.noted! - 3.5 + 9.5);
		expect(far).toMatchObject({ shape: stepAt(past(6)), noted: false });
		// Of two events the better one.
		expect(choose(step(6, 0.03), {}, [past(9), past(6), past(3)]).shape).toEqual(stepAt(past(6)));
	});

	it('is not searched for with a block of weights or less on a side', () => {
		// Blocks of three among twelve: four weights on either side at the least.
		expect(choose(step(4, 0.05)).shape).toEqual(stepAt(past(4)));
		expect(choose(step(8, 0.05)).shape).toEqual(stepAt(past(8)));
		expect(choose(step(3, 0.05)).shape.changes_s[0] ?? past(4)).toBeGreaterThanOrEqual(past(3.5));
		expect(choose(step(9, 0.05)).shape.changes_s[0] ?? past(8)).toBeLessThanOrEqual(past(8.5));
		// Of five, two and three.
		expect(choose(step(2, 0.08), { fills: 5 }).shape).toEqual(stepAt(past(2)));
		expect(choose(step(3, 0.08), { fills: 5 }).shape).toEqual(stepAt(past(3)));
		expect(choose(step(1, 0.08), { fills: 5 }).shape).not.toEqual(stepAt(past(1)));
	});

	it('is not told by one weight alone', () => {
		// The first two weights, one of them far off: without it nothing is gained.
		const one = choose((w) => noise(0.002)(w) + (w === 4 ? 0.08 : 0), { fills: 8 });
		expect(one.shape).toBe(CONSTANT);
		const last = choose((w) => noise(0.002)(w) + (w === 11 ? 0.1 : 0));
		expect(last.shape).toBe(CONSTANT);
	});

	it('is told by how weights scatter about it, not by how large the scatter is', () => {
		// Ten times as large in all: no more is gained where a form leaves more misfit than errors explain.
		const rough = (by: number) => choose((w) => by * (noise(0.02)(w) + (w < 6 ? 0.03 : 0)), {}, [past(6)]).gains.noted!;
		expect(rough(3) / rough(1)).toBeLessThan(1.5);
		expect(rough(3)).toBeGreaterThan(0);
	});

	it('of one combine is chosen with those of the others as they are', () => {
		const { chain, play } = field(() => 0, { combines: ['A', 'B'], factor: (c, h) => (c === 1 && h > 0.8 ? 1.06 : 1) });
		expect(chooseForm(chain, play, 0, []).shape.form).toBe('constant');
		expect(chooseForm(chain, play, 1, []).shape.form).toBe('step');
		const shapes: Shape[] = [CONSTANT, stepAt(past(6))];
		expect(chooseForm(chain, { ...play, shapes }, 0, []).shape.form).toBe('constant');
		expect(chooseForm(chain, { ...play, shapes }, 1, []).shape.form).toBe('step');
	});

	it('is chosen with a slow error of at most one percent', () => {
		const { chain, play } = field(step(5, 0.05));
		const gains = [0.01, 0.02, 0.5].map((sigma) => chooseForm(chain, { ...play, sigma }, 0, []).gains.searched!);
		expect(gains[1]).toBe(gains[0]);
		expect(gains[2]).toBe(gains[0]);
		expect(chooseForm(chain, { ...play, sigma: 0.004 }, 0, []).gains.searched).toBeGreaterThan(gains[0]!);
	});

	it('is the same for weights in another unit of time', () => {
		const made = choose(step(5, 0.05), { seed: 3 });
		const { chain, play } = field(step(5, 0.05));
		const moved = {
			...chain,
			time: {
				...chain.time,
				segments: chain.time.segments.map((s) => ({
					...s,
					pieces: s.pieces.map((p) => ({
						...p,
						start_s: p.start_s + 1e6,
						end_s: p.end_s + 1e6,
						time_s: p.time_s + 1e6,
					})),
				})),
			},
		};
		const later = chooseForm(moved, play, 0, []);
		expect(later.shape.changes_s).toEqual([past(5) + 1e6]);
		expect(later.gains.searched).toBeCloseTo(made.gains.searched!, 6);
	});
});
