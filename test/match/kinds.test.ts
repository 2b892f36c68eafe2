import { describe, expect, it } from 'vitest';
import { few, WHOLE } from '../campaign.ts';
import type { Kind, SimOptions } from '../sim/index.ts';
import { aligned, type Verdict, verdict } from './fields.ts';

/** Six fields a kind in a campaign, drawn by seeds that nothing was tuned on. */
const SEEDS = few([501, 502, 503, 504, 505, 506], 1);

/** Kinds of trouble with what each has to reach: worst factor in per cent, clock in seconds (NaN: nothing tells it). */
const KINDS: [string, Kind, SimOptions['overrides'], number, number][] = [
	['labeled', 'labeled', undefined, 0.6, 30],
	['unlabeled', 'unlabeled', undefined, 0.6, 30],
	['clock off by 137 s, faulty auger', 'clock-137', undefined, 0.6, 30],
	['clock off by an hour, no auger, nothing noted', 'clock-3600', undefined, 1, 120],
	['clock off by a zone, no auger, nothing noted', 'clock-7h', undefined, 1, 120],
	['three combines, unlabeled', 'three', undefined, 0.6, 30],
	['straight, unsaved, saved twice and broken off', 'irregular', undefined, 0.8, 30],
	['60 % of dumps leave a rest', 'rests', undefined, 0.6, 30],
	['a tank not empty at the start, a combine that leaves', 'start-leave', undefined, 0.8, 30],
	['times to the minute', 'minutes', undefined, 0.6, 60],
	['times to the day', 'days', undefined, 0.6, Number.NaN],
	['no times', 'untimed', undefined, 0.6, Number.NaN],
	['rests, no auger, a wrong zone', 'rests', { log: { auger: false }, cart: { clockOffset_s: 25_200 } }, 1, 120],
	['wrong weights', 'wrong-weight', undefined, 0.6, 30],
];

/** Half of the rough factors are within this, per cent; lib/factor solves them again, and better. */
const MEDIAN_PCT = 0.25;
const errorsOf = (verdicts: Verdict[]) =>
	verdicts
		.flatMap((v) => v.factors_pct)
		.map(Math.abs)
		.sort((a, b) => a - b);

describe('alignment of simulated fields', () => {
	const all: Verdict[] = [];

	it.each(KINDS)('%s', async (_, kind, overrides, worst, clock_s) => {
		const verdicts: Verdict[] = [];
		for (const seed of SEEDS)
			verdicts.push(verdict(await aligned({ seed, kind, ...(overrides ? { overrides } : {}) })));
		all.push(...verdicts);
		const sum = (f: (v: Verdict) => number) => verdicts.reduce((s, v) => s + f(v), 0);
		// Which dumps went wrong shows in the message.
		if (sum((v) => v.right) < 0.95 * sum((v) => v.dumps)) expect(verdicts.flatMap((v) => v.wrong)).toEqual([]);
		expect(sum((v) => v.found)).toBe(sum((v) => v.unweighed));
		expect(sum((v) => v.invented)).toBe(0);
		const errors = errorsOf(verdicts);
		// Two or three factors have no median to speak of.
		if (WHOLE) expect(errors[errors.length >> 1]).toBeLessThan(MEDIAN_PCT);
		expect(errors.at(-1)).toBeLessThan(worst);
		if (Number.isNaN(clock_s)) return;
		for (const v of verdicts) {
			expect(Math.abs(v.clock_s)).toBeLessThan(clock_s);
			expect(v.covered).toBe(true);
		}
	});

	it('over all kinds at least 97 % of the dumps are right, and half of the factors near', () => {
		const errors = errorsOf(all);
		expect(errors[errors.length >> 1]).toBeLessThan(MEDIAN_PCT);
		const right = all.reduce((s, v) => s + v.right, 0);
		expect(right / all.reduce((s, v) => s + v.dumps, 0)).toBeGreaterThan(0.97);
	});
});
