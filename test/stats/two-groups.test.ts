import { expect, it } from 'vitest';
import { seeded, twoGroups } from '../../lib/stats/index.ts';

it('two groups are those of all divisions that scatter least about their own means', () => {
	const random = seeded(7);
	for (let turn = 0; turn < 20; turn++) {
		const values = Array.from({ length: 9 }, () => ({
			rel: random.normal() + (random.uniform() < 0.4 ? 3 : 0),
			by: 1 + 4 * random.uniform(),
		})).sort((a, b) => a.rel - b.rel);
		const scatter = (of: typeof values) => {
			const by = of.reduce((s, v) => s + v.by, 0);
			const mean = of.reduce((s, v) => s + v.by * v.rel, 0) / by;
			return of.reduce((s, v) => s + v.by * (v.rel - mean) ** 2, 0);
		};
		const within = (n: number) => scatter(values.slice(0, n)) + scatter(values.slice(n));
		for (const least of [1, 3]) {
			const cuts = Array.from({ length: 9 - 2 * least + 1 }, (_, i) => least + i);
			const best = cuts.reduce((a, b) => (within(b) < within(a) ? b : a));
			const found = twoGroups(values, least)!;
			expect(found.from).toBe(values[best]!.rel);
			expect(found.explained).toBeCloseTo(1 - within(best) / scatter(values), 9);
		}
	}
	expect(
		twoGroups(
			[
				{ rel: 1, by: 1 },
				{ rel: 2, by: 1 },
			],
			2,
		),
	).toBeNull();
});
