import { describe, expect, it } from 'vitest';
import type { Dump } from '../../lib/model/index.ts';
import { bookOf, planOf, recordsOf } from './hand.ts';
import { cart, run, works } from './two.ts';

describe('entries that the weights contradict', () => {
	const weighed = (emptied: Dump['emptied'], tank_kg = 9000, noted = true) => {
		const records = recordsOf(works(noted));
		const plan = planOf(records.combines);
		for (const c of Object.values(plan.combines)) c.tank_kg = tank_kg;
		const dumps = cart(records, 0, noted).map((r) => ({ ...r.dump, emptied }));
		return run(records, bookOf(dumps), plan);
	};
	const right = (factors: readonly number[]) => {
		expect(factors[0]).toBeCloseTo(1.05, 2);
		expect(factors[1]).toBeCloseTo(0.94, 2);
	};

	it('are not in a cart log without errors', () => {
		const { cautions, factors } = weighed(1);
		right(factors);
		expect(cautions.join(' ')).not.toMatch(/emptied|tank_kg/);
	});

	it('may be one answer for all, that grain stayed in the tank', () => {
		const { cautions, factors, unloadings } = weighed(0);
		right(factors);
		expect(unloadings.every((u) => u.rest_kg < 300)).toBe(true);
		expect(cautions.join(' ')).toMatch(/column emptied/);
	});

	it('may be tanks of half the size, where nothing else is noted', () => {
		const { cautions, factors, fates } = weighed(-1, 3500, false);
		right(factors);
		expect(fates.every((f) => f.status === 'used')).toBe(true);
		expect(cautions.join(' ')).toMatch(/larger tanks .* check tank_kg/);
	});
});
