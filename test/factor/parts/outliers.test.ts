import { describe, expect, it } from 'vitest';
import type { Play } from '../../../lib/factor/chain/play.ts';
import { findOutliers } from '../../../lib/factor/outliers.ts';
import { chained } from '../chained.ts';
import { type Made, type Make, make } from '../make.ts';

/** One combine's weights, each as its monitor has it but for what is added, by index of the weight. */
function weights(
	off: Record<number, number>,
	more: Partial<Make> & { pace?: number; use?: number[]; rest_kg?: never } = {},
) {
	const { pace = 1, use, ...rest } = more;
	const made: Made = make({ seed: 3, combines: ['A'], fills: 12, slow: 0, reading_kg: 0, ...rest });
	const [start] = made.records.time_s as unknown as [number];
	made.records.time_s.forEach((t, i) => {
		made.records.time_s[i] = start + (t - start) / pace;
		made.records.interval_s[i]! /= pace;
	});
	for (const [w, kg] of Object.entries(off)) made.match.weighings[Number(w)]!.reference_kg += kg;
	return chained(made, use ?? made.match.weighings.map((_, w) => w));
}
function found(off: Record<number, number>, more: Parameters<typeof weights>[1] = {}, play: Partial<Play> = {}) {
	const { chain, play: usual } = weights(off, more);
	const now = { ...usual, ...play };
	const { rest, extraVariance, aside } = findOutliers(chain, now);
	const left = [...rest.u_kg].flatMap((u, i) => (u > now.rest.u_kg[i]! ? [i] : []));
	return {
		rest,
		left,
		aside: aside.map((a) => a.weighing).sort((a, b) => a - b),
		reasons: aside.map((a) => a.reason),
		extraVariance,
	};
}
/** Tanks known to be empty within 5 kg. */
const emptied = { rest: { kg: new Float64Array(13), u_kg: new Float64Array(13).fill(5) } };
/** A tenth of the weights' 6 t. */
const TENTH = 600;

describe('a weight out of line', () => {
	it('is set aside, with how far it is off what the others expect, and counts no more', () => {
		const heavy = found({ 5: TENTH });
		expect(heavy).toMatchObject({ aside: [5], left: [] });
		expect(heavy.reasons[0]).toMatch(/^about (9|10)% heavier than expected .*possibly a wrong weight$/);
		expect([...heavy.extraVariance]).toEqual([[5, 15_000 ** 2]]);
		const light = found({ 5: -3000 });
		expect(light.aside).toEqual([5]);
		expect(light.reasons[0]).toMatch(/^about 5[01]% lighter than expected/);
	});

	it('is one of a few only: none where all fit, or where three are too few to know', () => {
		expect(found({})).toMatchObject({ aside: [], left: [] });
		expect(found({ 1: 3000 }, { fills: 3 })).toMatchObject({ aside: [], left: [] });
		expect(found({ 1: 3000 }, { fills: 4 }).aside).toEqual([1]);
		expect(found({ 0: 3000 }).aside).toEqual([0]);
		expect(found({ 11: 3000 }).aside).toEqual([11]);
	});

	it('is off by more than 4 % however well the others agree', () => {
		// Tank loads of a minute each, over which a monitor hardly wanders.
		const of = (kg: number) => found({ 5: kg }, { pace: 8 }, emptied).aside;
		expect(of(0.036 * 6000)).toEqual([]);
		expect(of(0.05 * 6000)).toEqual([5]);
		expect(of(-0.05 * 6000)).toEqual([5]);
	});

	it('may be one of several, near each other or not', () => {
		expect(found({ 2: 2000, 9: -1500 }).aside).toEqual([2, 9]);
		expect(found({ 4: 2000, 6: 2500 }).aside).toEqual([4, 6]);
		expect(found({ 3: 3000, 5: 2800, 7: 2600, 10: 2400 }).aside).toEqual([3, 5, 7, 10]);
	});

	it('is not hidden by a drift or a step of the factor', () => {
		const drift = found({}, { factor: (_, h) => 1 + 0.05 * h });
		const step = found({}, { factor: (_, h) => (h > 0.8 ? 0.93 : 1) });
		expect([drift.aside, drift.left, step.aside, step.left]).toEqual([[], [], [], []]);
		expect(found({ 2: 2000 }, { factor: (_, h) => 1 + 0.05 * h }).aside).toEqual([2]);
	});

	it('is of its own combine’s order, whatever others weigh between', () => {
		expect(found({ 5: TENTH, 17: -TENTH }, { combines: ['A', 'B'] }).aside).toEqual([5, 17]);
	});

	it('known before stays as it was', () => {
		const known = found({ 5: 3000 }, {}, { extraVariance: new Map([[5, 1e8]]) });
		expect(known.aside).toEqual([]);
		expect([...known.extraVariance]).toEqual([[5, 1e8]]);
	});
});

describe('grain left in the tank without a note', () => {
	it('makes one weight low and the next high by the same', () => {
		const { rest, left, aside } = found({ 5: -1000, 6: 1000 });
		expect({ left, aside }).toEqual({ left: [5], aside: [] });
		// One and a half times what stayed.
		expect(rest.u_kg[5]! / 1500).toBeGreaterThan(0.9);
		expect(rest.u_kg[5]! / 1500).toBeLessThan(1.1);
	});

	it('is never less than nothing: high and then low are weights out of line', () => {
		const { left, aside } = found({ 5: 2000, 6: -2000 });
		expect(left).toEqual([]);
		expect(aside.length).toBeGreaterThan(0);
	});

	it('is not looked for where it is known that some may have stayed', () => {
		const broad = (u: number) => ({ kg: new Float64Array(13), u_kg: new Float64Array(13).fill(40).fill(u, 5, 6) });
		expect(found({ 5: -1000, 6: 1000 }, {}, { rest: broad(501) }).left).toEqual([]);
		const some = found({ 5: -2500, 6: 2500 }, {}, { rest: broad(500) });
		expect(some.left).toEqual([5]);
		expect(some.rest.u_kg[5]).toBeGreaterThan(2500);
		expect(found({ 5: -2500, 6: 2500 }, {}, { rest: broad(501) }).left).toEqual([]);
	});

	it('is none where the weights do not show it clearly', () => {
		const known = { kg: new Float64Array(13), u_kg: new Float64Array(13).fill(40).fill(200, 5, 6) };
		expect(found({ 5: -400, 6: 400 }, {}, { rest: known }).left).toEqual([]);
	});

	it('may be after several dumps', () => {
		expect(found({ 2: -1500, 3: 1500, 9: -1200, 10: 1200 })).toMatchObject({ left: [2, 9], aside: [] });
		expect(found({ 4: -1500, 5: 1500, 6: -1200, 7: 1200 })).toMatchObject({ left: [4, 6], aside: [] });
	});

	it('leaves the settings as they were', () => {
		const { chain, play } = weights({ 2: 3000, 5: -1000, 6: 1000 });
		const before = play.rest.u_kg.slice();
		findOutliers(chain, play);
		expect([play.rest.u_kg, play.extraVariance.size]).toEqual([before, 0]);
	});
});
