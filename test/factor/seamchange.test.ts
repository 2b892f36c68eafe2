import { expect, test } from 'vitest';
import { solveFactors } from '../../lib/factor/index.ts';
import type { FactorInput } from '../../lib/factor/input.ts';
import { seamSeries, seamStep } from '../../lib/factor/seamchange.ts';
import { silent } from '../../lib/model/index.ts';
import { seeded } from '../../lib/stats/index.ts';
import { make } from './make.ts';

/** Twenty seams of A and B, one each ten minutes, at which A reads `change` more from the fourteenth on. */
function seamed(change: number, seed = 1): FactorInput {
	const random = seeded(seed);
	const logs = Array.from({ length: 20 }, (_, i) => 0.05 + (i >= 14 ? change : 0) + 0.008 * random.normal());
	const log_jump = logs.reduce((a, b) => a + b) / logs.length;
	return {
		seams: logs.map((_, i) => ({ combineA: 0, combineB: 1, passA: i, passB: 20 + i, excluded: null })),
		jumps: [
			{
				combineA: 0,
				combineB: 1,
				log_jump,
				blocks: logs.flatMap((log, seam) => [
					{ seam, log_jump: log + 0.01, length_m: 60 },
					{ seam, log_jump: log - 0.01, length_m: 60 },
				]),
			},
		],
		track: { passes: Array.from({ length: 40 }, (_, i) => ({ combine: i < 20 ? 0 : 1, records: Int32Array.of(i) })) },
		records: { time_s: Float64Array.from({ length: 40 }, (_, i) => 600 * (i % 20)) },
	} as unknown as FactorInput;
}

test('a recalibration shows at the seams, with its size and time', () => {
	const found = seamStep(seamSeries(seamed(0.1), 0))!;
	expect(found.shape.changes_s).toEqual([600 * 14]);
	expect(Math.abs(found.log + 0.1)).toBeLessThan(0.012);
	expect(found.cost).toBeLessThan(-10);
	// By the other's passes it is the other that reads less.
	expect(Math.abs(seamStep(seamSeries(seamed(0.1), 1))!.log - 0.1)).toBeLessThan(0.012);
});

test('seams that stay as they were are no change, nor are two or three of them', () => {
	for (let seed = 1; seed <= 20; seed++) expect(seamStep(seamSeries(seamed(0, seed), 0))!.cost).toBeGreaterThan(6);
	const { seams, ...few } = seamed(0.1);
	expect(seamStep(seamSeries({ ...few, seams: seams.slice(11, 16) }, 0))).toBeNull();
});

test('grain that came in after the last weighed dump is named', () => {
	const made = make({ seed: 51, fills: 12 });
	made.match.weighings = made.match.weighings.filter((_, i) => i < 5 || i >= 12);
	const { cautions } = solveFactors({ ...made, seams: [], jumps: [] }, silent);
	expect(cautions!.join(' ')).toMatch(/No dump of combine A was weighed after .*\(58% of its grain\)/);
	expect(cautions!.join(' ')).not.toMatch(/No dump of combine B/);
});
