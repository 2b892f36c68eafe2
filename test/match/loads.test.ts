import { describe, expect, it } from 'vitest';
import { aligned, verdict } from './fields.ts';
import { bookOf, dump, NOON, planOf, recordsOf } from './hand.ts';
import { run } from './two.ts';

it.each([
	// No weight is more than the larger tank holds; the smaller one would not hold most of them.
	['weights that one tank could hold', 205, undefined],
	['tanks of unknown size', 203, { notes: { tankTold: false } }],
	['tanks of unknown size, a rest of most of a tank', 208, { notes: { tankTold: false } }],
])('whole loads of two combines that nobody noted: %s', async (_, seed, overrides) => {
	const field = await aligned({ seed: seed as number, kind: 'mixed', ...(overrides ? { overrides } : {}) });
	const v = verdict(field);
	// Where two matches fit alike, that is said.
	const open = field.match.cautions.find((c) => c.startsWith('Uncertain match')) ?? '';
	expect(v.wrong.filter((w) => !open.includes(w.split(':')[0]!))).toEqual([]);
	expect(v.invented).toBe(0);
	expect(v.covered).toBe(true);
	expect(field.match.notes.some((n) => n.includes('whole cart loads'))).toBe(true);
});

it('weights of single tanks that nobody noted are not taken for whole loads', async () => {
	const field = await aligned({ seed: 206, kind: 'unlabeled', overrides: { notes: { tankTold: false } } });
	expect(verdict(field).wrong).toEqual([]);
	expect(field.match.fates.every((f) => f.combines.length === 1)).toBe(true);
	expect(field.match.notes.some((n) => n.includes('whole cart loads'))).toBe(false);
});

describe('weights of three combines', () => {
	const ends: Record<string, number[]> = {
		A: [900, 1800, 2800, 3700],
		B: [1000, 1950, 2900, 3820],
		C: [1100, 2080, 3020, 3950],
	};
	const factors: Record<string, number> = { A: 1.06, B: 0.95, C: 1.02 };
	const works = Object.entries(ends).map(([name, times], c) => ({
		name,
		from_s: 0,
		to_s: times.at(-1)!,
		flow: (t: number) => (t % 700 > 620 ? 0 : 6 + c + Math.sin(t / (90 + 20 * c))),
		standing: (t: number) => t % 700 > 620,
		auger: (t: number) => times.some((end) => t > end - 70 && t <= end),
	}));
	const records = recordsOf(works);
	const fill = (c: number, n: number): number => {
		const times = ends[records.combines[c]!]!;
		let kg = 0;
		for (let i = 0; i < records.n; i++) {
			const t = records.time_s[i]! - NOON;
			if (records.combine[i] === c && t > (times[n - 1] ?? 0) && t <= times[n]!) kg += records.flow_kg_s[i]!;
		}
		return kg * factors[records.combines[c]!]!;
	};
	const cart = (names: string[]) =>
		bookOf(
			ends.C!.map((t, n) =>
				dump(`D${n + 1}`, n, t + 30, Math.round([0, 1, 2].reduce((sum, c) => sum + fill(c, n), 0)), {
					combines: names,
				}),
			),
		);

	it.each([
		['noted', ['A', 'B', 'C']],
		['not noted, more than any tank holds', []],
	])('are of all three: %s', (_, names) => {
		const match = run(records, cart(names), planOf(['A', 'B', 'C']));
		for (const fate of match.fates) {
			expect(fate.combines).toEqual([0, 1, 2]);
			expect(fate.unloadings).toHaveLength(3);
			expect(fate.status).toBe('used');
		}
		expect(match.unloadings.filter((u) => u.unweighed !== null)).toEqual([]);
		for (const w of match.weighings) {
			const told = w.unloadings.reduce((sum, u) => {
				const { combine, account_kg } = match.unloadings[u]!;
				return sum + account_kg * factors[records.combines[combine]!]!;
			}, 0);
			expect(told / w.reference_kg).toBeCloseTo(1, 2);
		}
	});
});
