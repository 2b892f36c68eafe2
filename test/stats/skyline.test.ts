import { describe, expect, it } from 'vitest';
import { backward, cholesky, forward, Skyline, seeded } from '../../lib/stats/index.ts';

describe('a matrix stored by its skyline', () => {
	it('gives the dense solution and the dense deviations, for a chain with full rows at its end', () => {
		const rng = seeded(7);
		const n = 40;
		const dense = new Float64Array(n * n);
		const sky = new Skyline(n);
		const add = (i: number, j: number, value: number): void => {
			dense[i * n + j]! += value;
			if (i !== j) dense[j * n + i]! += value;
			sky.add(i, j, value);
		};
		for (let i = 0; i < n; i++) {
			add(i, i, 8 + rng.uniform());
			for (let j = i >= n - 2 ? 0 : Math.max(0, i - 2); j < i; j++) add(i, j, rng.uniform() - 0.5);
		}
		const b = Float64Array.from({ length: n }, () => rng.uniform());
		const L = cholesky(dense, n);
		const x = backward(L, n, forward(L, n, b));
		sky.decompose();
		const found = sky.solve(b);
		for (let i = 0; i < n; i++) expect(found[i]).toBeCloseTo(x[i]!, 12);
		const u = sky.deviations();
		for (const j of [0, 17, n - 1]) {
			const unit = new Float64Array(n);
			unit[j] = 1;
			const column = backward(L, n, forward(L, n, unit));
			expect(u[j]).toBeCloseTo(Math.sqrt(column[j]!), 12);
		}
	});

	it('refuses what is not positive definite', () => {
		const sky = new Skyline(2);
		sky.add(0, 0, 1);
		sky.add(1, 0, 2);
		sky.add(1, 1, 1);
		expect(() => sky.decompose()).toThrow(RangeError);
	});
});
