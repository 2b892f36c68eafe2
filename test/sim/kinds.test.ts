import { expect, test } from 'vitest';
import type { Kind } from './index.ts';
import { trial } from './run.ts';
import { misses } from './targets.ts';

/** Fields that try the factor's forms, the seams, the ground and the map; new to the estimator. */
const SEEDS = [851, 852];
const KINDS: Kind[] = [
	'trend',
	'step',
	'flow+',
	'flow-',
	'speeds',
	'trend-small',
	'step-small',
	'seams',
	'seams-equal',
	'receivers',
	'receivers-side',
	'dirty',
	'bare',
	'slow-log',
	'shifted',
	'antenna',
	'trace',
	'moisture',
	'two-days',
	'rough',
	'hz0.2',
];

test.each(KINDS)(
	'%s',
	async (kind) => {
		const all = [];
		for (const seed of SEEDS) all.push((await trial({ seed, kind })).scores);
		expect(misses(kind, all)).toEqual([]);
	},
	600_000,
);
