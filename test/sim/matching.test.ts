import { expect, test } from 'vitest';
import { few } from '../campaign.ts';
import type { Kind } from './index.ts';
import { trial } from './run.ts';
import { misses } from './targets.ts';

/**
 * Kinds that need the whole run, alignment, seams and factors together, over six fields each; and a few others all the
 * way through. The alignment alone is tried on every kind in its own room.
 */
const CASES: [Kind, number[]][] = [
	['mixed', [801, 802, 803, 804, 805, 806]],
	['tickets-straight', [804, 801, 802, 803, 805, 806]],
	['tickets-cart', [801, 802, 803, 804, 805, 806]],
	['total', [801, 802, 803]],
	['silent', [801, 802, 803]],
	['irregular', [801, 802]],
	['three', [801, 802]],
	['rests', [801, 802]],
	['clock-7h', [801, 802]],
];

test.each(few(CASES, 5))(
	'%s: factors, dumps, unweighed stretches and the clock',
	async (kind, seeds) => {
		const all = [];
		for (const seed of few(seeds, 1)) all.push((await trial({ seed, kind }, { grid: false })).scores);
		expect(misses(kind, all).filter((miss) => /^(factor|dumps|unweighed|clock)/.test(miss))).toEqual([]);
	},
	600_000,
);
