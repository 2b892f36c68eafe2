import { describe, expect, it } from 'vitest';
import { stepAt } from '../../../lib/factor/form/choose.ts';
import { CONSTANT } from '../../../lib/factor/form/shape.ts';
import type { FactorInput } from '../../../lib/factor/input.ts';
import {
	type SeamSeries,
	seamChange,
	seamSeries,
	seamStep,
	seamSteps,
	withSeamChange,
} from '../../../lib/factor/seamchange.ts';

/** A combine's seams, one each hour, that read `logs` more than their neighbors. */
const series = (logs: number[], scatter = 0.02, combine = 0): SeamSeries => ({
	combine,
	time_s: logs.map((_, i) => 3600 * i),
	log: logs,
	scatter,
});
const steps = (...runs: [number, number][]) => runs.flatMap(([n, v]) => Array<number>(n).fill(v));
/** Minus twice the log of a normal density with this variance. */
const deviance = (x: number, variance: number) => Math.log(2 * Math.PI * variance) + x ** 2 / variance;

describe('a change as the seams show it', () => {
	it('a step is the difference of two means, with the standard error of one', () => {
		const found = seamChange(series([0.03, 0.01, 0.02, 0.02, -0.08, -0.06, -0.07, -0.07]), stepAt(3.5 * 3600))!;
		// Means 0.02 and −0.07: it reads less by 0.09, so it needs a factor that is more by that.
		expect(found.log).toBeCloseTo(0.09, 12);
		// Two means of four: 0.02 √(1/4 + 1/4), and 0.01 as seams are not the whole field.
		expect(found.u).toBeCloseTo(Math.sqrt(0.02 ** 2 / 2 + 0.01 ** 2), 12);
		expect(found).toMatchObject({ combine: 0, shape: stepAt(3.5 * 3600) });
	});

	it('costs as much as it is less likely than no change, a change being of 6 %', () => {
		for (const step of [0.09, 0.03, 0]) {
			const { log, u, cost } = seamChange(series(steps([5, step], [3, 0])), stepAt(4.5 * 3600))!;
			expect(cost).toBeCloseTo(deviance(log, u ** 2 + 0.06 ** 2) - deviance(log, u ** 2), 9);
		}
	});

	it('a drift is a slope over its own span', () => {
		const trend = { ...CONSTANT, form: 'trend' as const, middle_s: 4 * 3600, half_s: 4 * 3600 };
		const found = seamChange(series([0, 1, 2, 3, 4, 5, 6, 7, 8].map((i) => 0.01 * i)), trend)!;
		expect(found.log).toBeCloseTo(-0.04, 12);
	});

	it('is of the same size whatever the seams’ common level, and turns with the sign', () => {
		const logs = [0.03, 0.01, 0.02, -0.02, -0.08, -0.06];
		const found = seamChange(series(logs), stepAt(3 * 3600))!;
		expect(seamChange(series(logs.map((v) => v + 0.5)), stepAt(3 * 3600))!.log).toBeCloseTo(found.log, 9);
		const turned = seamChange(series(logs.map((v) => -v)), stepAt(3 * 3600))!;
		expect([turned.log, turned.cost]).toEqual([expect.closeTo(-found.log, 12), expect.closeTo(found.cost, 9)]);
	});

	it('needs three seams on either side', () => {
		expect(seamChange(series(steps([3, 0.1], [3, 0])), stepAt(2.5 * 3600))).not.toBeNull();
		expect(seamChange(series(steps([3, 0.1], [2, 0])), stepAt(2.5 * 3600))).toBeNull();
		expect(seamChange(series(steps([9, 0.1], [1, 0])), stepAt(8.5 * 3600))).toBeNull();
		expect(seamChange(series(steps([9, 0.1])), stepAt(99 * 3600))).toBeNull();
	});
});

describe('the step that the seams show best', () => {
	it('is at the seam from which they differ, and pays for having been searched for', () => {
		const of = series(steps([8, 0.1], [5, 0]));
		const found = seamStep(of)!;
		expect(found.shape.changes_s).toEqual([8 * 3600]);
		// Twelve hours of work, a change in a hundred hours, at any of 13 seams.
		expect(found.cost - seamChange(of, stepAt(8 * 3600))!.cost).toBeCloseTo(-2 * Math.log(0.12 / 13), 9);
		// However long the field is, a change is not likelier than none.
		const long = { ...of, time_s: of.time_s.map((t) => 100 * t) };
		expect(seamStep(long)!.cost - seamChange(long, stepAt(8 * 360_000))!.cost).toBeCloseTo(2 * Math.log(26), 9);
	});

	it('may be after the third seam or before the third last', () => {
		expect(seamStep(series(steps([3, 0.1], [5, 0])))!.shape.changes_s).toEqual([3 * 3600]);
		expect(seamStep(series(steps([5, 0.1], [3, 0])))!.shape.changes_s).toEqual([5 * 3600]);
		// With two on one side, the nearest that may be.
		expect(seamStep(series(steps([2, 0.1], [6, 0])))!.shape.changes_s).toEqual([3 * 3600]);
		expect(seamStep(series(steps([6, 0.1], [2, 0])))!.shape.changes_s).toEqual([5 * 3600]);
		expect(seamStep(series(steps([3, 0.1], [2, 0])))).toBeNull();
	});

	it('of a long day is looked for at no more than a hundred moments', () => {
		const found = seamStep(series(steps([101, 0.1], [149, 0])))!;
		// Every third of 250: 99 or 102.
		expect(found.shape.changes_s).toEqual([102 * 3600]);
	});

	it('is sought in each of two neighbors that may have changed', () => {
		const both = [series(steps([8, 0.1], [5, 0])), series(steps([8, 0.05], [5, 0]), 0.02, 1)];
		expect(seamSteps(both)).toEqual(both.map((s) => seamStep(s)));
		expect(seamSteps([series([0, 0]), series([])])).toEqual([]);
	});

	it('is the prior of that change alone, relative to the combine’s rough factor', () => {
		const found = seamStep(series(steps([8, 0.1], [5, 0]), 0.02, 1))!;
		const prior = withSeamChange(() => ({ mean: 0, u: 9 }), found, [1, 0.8]);
		const { mean, u, seam } = prior(1, 1);
		expect(mean / 0.8).toBeCloseTo(Math.exp(0.1) - 1, 9);
		expect([u / found.u, seam]).toEqual([expect.closeTo(0.8, 12), true]);
		for (const [c, j] of [
			[1, 0],
			[0, 1],
			[1, 2],
		] as const)
			expect(prior(c, j)).toEqual({ mean: 0, u: 9 });
	});
});

describe('a combine’s seams', () => {
	/** Three combines; seam s is of passes 2 s and 2 s + 1, each of three records, the middle one at the pass's number in hours. */
	const pairs = [
		[0, 1],
		[1, 0],
		[0, 2],
		[0, 1],
		[1, 0],
	] as const;
	const input = (excluded: number[] = [], more: object = {}) =>
		({
			seams: pairs.map(([combineA, combineB], s) => ({
				combineA,
				combineB,
				passA: 2 * s,
				passB: 2 * s + 1,
				excluded: excluded.includes(s) ? 'crossing' : null,
			})),
			jumps: [
				jump(0, 1, 0.05, [
					[0, 0.06, 100],
					[0, 0.1, 300],
					[3, 0.02, 50],
					[1, -0.01, 80],
					[4, 0.03, 60],
				]),
				jump(0, 2, -0.1, [[2, -0.07, 70]]),
				jump(0, 0, 0, [[0, 0.5, 70]]),
				jump(1, 2, Number.NaN, [[1, 0.5, 70]]),
			],
			track: { passes: pairs.flat().map((_, p) => ({ records: Int32Array.of(3 * p, 3 * p + 1, 3 * p + 2) })) },
			records: { time_s: Float64Array.from({ length: 30 }, (_, i) => 3600 * Math.floor(i / 3) + (i % 3) - 1) },
			...more,
		}) as unknown as FactorInput;
	const jump = (combineA: number, combineB: number, log_jump: number, blocks: [number, number, number][]) => ({
		combineA,
		combineB,
		log_jump,
		blocks: blocks.map(([seam, log, length_m]) => ({ seam, log_jump: log, length_m })),
	});
	const hours = ({ time_s }: SeamSeries) => time_s.map((t) => t / 3600);
	const near = (values: number[]) => values.map((v) => expect.closeTo(v, 12));

	it('are what it reads more there than in the mean of its pair, by length, when it cut its side', () => {
		const a = seamSeries(input(), 0);
		// Its passes: 0, 3, 4, 6, 9. Seam 0: (0.06 · 100 + 0.1 · 300) / 400 = 0.09.
		expect(hours(a)).toEqual([0, 3, 4, 6, 9]);
		expect(a.log).toEqual(near([0.04, -0.06, 0.03, -0.03, -0.02]));
		const b = seamSeries(input(), 1);
		expect(hours(b)).toEqual([1, 2, 7, 8]);
		expect(b.log).toEqual(near([-0.04, 0.06, 0.03, 0.02]));
		expect(seamSeries(input(), 2).log).toEqual(near([-0.03]));
	});

	it('without those left out', () => {
		expect(hours(seamSeries(input([0, 4]), 0))).toEqual([3, 4, 6]);
		expect(hours(seamSeries(input([], { seams: input().seams.slice(0, 3) }), 0))).toEqual([0, 3, 4]);
	});

	it('scatter from one to the next, by the median', () => {
		const { scatter } = seamSeries(input(), 0);
		// Differences −0.10, 0.09, −0.06, 0.01; their median −0.025, distances 0.075, 0.115, 0.035, 0.035.
		expect(scatter).toBeCloseTo((1.4826 * (0.035 + 0.075)) / 2 / Math.SQRT2, 4);
	});
});
