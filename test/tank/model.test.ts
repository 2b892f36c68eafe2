import { describe, expect, it } from 'vitest';
import { seeded } from '../../lib/stats/index.ts';
import { tankModel } from '../../lib/tank/index.ts';

/** Fills of a monitor that is off by `factor`, each weight with white noise of 40 kg. */
function fills(seed: number, factor: number, n = 12) {
	const random = seeded(seed);
	return Array.from({ length: n }, () => {
		const monitor_kg = 5500 + 1000 * random.uniform();
		return { monitor_kg, seconds: 900, weight_kg: factor * monitor_kg + 40 * random.normal() };
	});
}

describe('one combine against its weights', () => {
	it('finds factors within what it says of them, over 40 seeds', () => {
		let inside = 0;
		for (let seed = 1; seed <= 40; seed++) {
			const truth = 0.9 + 0.005 * seed;
			const { factor, u_rel } = tankModel(fills(seed, truth));
			expect(Math.abs(factor / truth - 1)).toBeLessThan(0.012);
			if (Math.abs(factor / truth - 1) < 2 * u_rel) inside++;
		}
		expect(inside).toBeGreaterThanOrEqual(37);
	});

	it('follows grain that stays in the tank into the next weight', () => {
		const monitor_kg = 6000;
		const rest = 900;
		const weights = [6300, 6300 - rest, 6300 + rest, 6300];
		const { rest_kg, factor } = tankModel(
			weights.map((weight_kg, k) => ({ monitor_kg, seconds: 900, weight_kg, emptied: k !== 1 })),
		);
		expect(factor).toBeCloseTo(1.05, 2);
		expect(Math.abs(rest_kg[1]! - rest)).toBeLessThan(60);
		expect(Math.abs(rest_kg[0]!)).toBeLessThan(60);
	});

	it('knows less where the scale may be off, and nothing of what was not weighed', () => {
		const some = fills(3, 1.04).map((f, k) => (k % 3 === 0 ? { ...f, weight_kg: Number.NaN } : f));
		const { u_rel, residual_kg } = tankModel(some);
		expect(tankModel(some, 0.02).u_rel).toBeGreaterThan(0.019);
		expect(u_rel).toBeLessThan(0.01);
		expect([...residual_kg].map(Number.isNaN)).toEqual(some.map((f) => Number.isNaN(f.weight_kg)));
	});

	it('says which number it cannot use', () => {
		expect(() => tankModel([{ monitor_kg: 0, seconds: 900, weight_kg: 5 }])).toThrow(
			'fill 0 needs a positive monitor_kg',
		);
		expect(() => tankModel([])).toThrow('no fill has a positive weight_kg');
	});
});
