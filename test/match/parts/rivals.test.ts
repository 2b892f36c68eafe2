import { expect, it } from 'vitest';
import type { Explained } from '../../../lib/match/explained.ts';
import { remaining } from '../../../lib/match/outcome/rivals.ts';

/** An explanation of one dump by a fill of this mass. */
const explained = (cost: number, account_kg: number, unit = false): Explained =>
	({
		cost,
		supposed: unit ? { caution: 'pounds', unit: true } : null,
		solved: { list: [{ assignment: { observation: 0 }, combine: 0, mass_kg: 0, account_kg, rests: false }] },
	}) as unknown as Explained;

it('explanations that remain have probabilities by their costs, and equal ones count once', () => {
	const found = remaining([explained(0, 5000), explained(0.5, 5010), explained(1, 9000), explained(9, 2000)]);
	expect(found.map((f) => f.explained.cost)).toEqual([0, 1]);
	expect(found[1]!.weight).toBeCloseTo(Math.exp(-1) / (1 + Math.exp(-1)), 9);
	expect(found[0]!.weight + found[1]!.weight).toBeCloseTo(1, 9);
});

it('another unit is the main explanation only where none without it remains', () => {
	const open = remaining([explained(0, 5000, true), explained(3, 9000)]);
	expect(open.map((f) => f.explained.cost)).toEqual([3, 0]);
	expect(open[0]!.weight).toBeCloseTo(Math.exp(-3) / (1 + Math.exp(-3)), 9);
	const clear = remaining([explained(0, 5000, true), explained(4, 9000)]);
	expect(clear.map((f) => f.explained.cost)).toEqual([0]);
});
