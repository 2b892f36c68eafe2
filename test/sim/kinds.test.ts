import { expect, test } from 'vitest';
import { few, WHOLE } from '../campaign.ts';
import { expectConserved } from './conserved.ts';
import { HALF, type Kind } from './index.ts';
import { trial } from './run.ts';
import { misses } from './targets.ts';

/** Fields that try the factor's forms, the seams, the ground and the map; new to the estimator. */
const SEEDS = few([851, 852], 1);
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
	'stops',
];

/** Kinds whose factor's form, or steadiness, shows over many dumps alone. */
const FORMS: Kind[] = ['trend', 'step', 'flow+', 'flow-', 'speeds'];

/** Shares of cells within one and two standard errors of their truth, of every field that was run. */
const within1_pct: number[] = [];
const within2_pct: number[] = [];

// The grid takes half the time: of every third kind, of all in a campaign. Where neither it nor the form is looked at, half
// of the ground shows as much.
test.each(KINDS.map((kind, k) => ({ kind, grid: WHOLE || k % 3 === 0 })))(
	'$kind, grid $grid',
	async ({ kind, grid }) => {
		const all = [];
		// A cart's own trace is judged by the whole day.
		const whole = grid || kind === 'trace' || FORMS.includes(kind);
		for (const seed of SEEDS) {
			const { sim, scores } = await trial({ seed, kind, ...(whole ? {} : { overrides: HALF }) }, { grid });
			expectConserved(sim);
			all.push(scores);
			if (!grid) continue;
			within1_pct.push(scores.grid.within1_pct);
			within2_pct.push(scores.grid.within2_pct);
		}
		// How often cells are as near as said is a matter of several fields: of those of a kind in a campaign, else of all.
		const left = WHOLE ? /^$/ : grid ? /^cells within 1 se/ : /^(grid|cells)/;
		expect(misses(kind, all).filter((miss) => !left.test(miss))).toEqual([]);
		// Over many fields some may be missed.
		if (!WHOLE && FORMS.includes(kind)) expect(all.flatMap((s) => s.factors.filter((f) => !f.formRight))).toEqual([]);
	},
	600_000,
);

test('over all kinds cells are as near to their truth as their standard errors say', () => {
	const mean = (values: number[]) => values.reduce((a, b) => a + b, 0) / values.length;
	// 68 % and 95 % where errors are normal.
	expect(mean(within1_pct)).toBeGreaterThan(58);
	expect(mean(within1_pct)).toBeLessThan(82);
	expect(mean(within2_pct)).toBeGreaterThan(90);
});
