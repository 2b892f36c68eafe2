import { describe, expect, it } from 'vitest';
import { bookOf, recordsOf } from './hand.ts';
import { cart, run, works } from './two.ts';

describe('dumps whose combine only their weights tell', () => {
	const untimed = (named: boolean, auger: boolean) => {
		const records = recordsOf(works(auger));
		const rows = cart(records, 0, named).map((r) => ({ ...r.dump, time_s: Number.NaN, timeGrain: 'none' as const }));
		return run(records, bookOf(rows));
	};

	it('are explained at several ratios of the factors, which together are as wide as what is known', () => {
		const match = untimed(false, false);
		const all = [match, ...(match.alternatives ?? []).map((a) => a.match)];
		const ratios = all.map((m) => m.factors[1]! / m.factors[0]!);
		// Neither seams nor names: little more is known than that monitors are within about 12 %.
		expect(Math.min(...ratios)).toBeLessThan(0.94);
		expect(Math.max(...ratios)).toBeGreaterThan(1.15);
	});

	it('have one ratio where their names are noted, or an auger shows when tanks were emptied', () => {
		for (const [named, auger] of [
			[true, false],
			[false, true],
		] as const) {
			const match = untimed(named, auger);
			// Without times the last weight may have left grain in the tank: a percent.
			const ratios = [match, ...(match.alternatives ?? []).map((a) => a.match)].map(
				(m) => m.factors[1]! / m.factors[0]!,
			);
			expect(Math.max(...ratios) / Math.min(...ratios)).toBeLessThan(1.025);
		}
	});
});
