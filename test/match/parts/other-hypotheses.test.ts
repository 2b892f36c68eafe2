import { expect, it } from 'vitest';
import { explain } from '../../../lib/match/explained.ts';
import { otherHypotheses } from '../../../lib/match/outcome/other-hypotheses.ts';
import { bookOf, dump, inputOf, recordsOf } from '../hand.ts';
import { cart, works } from '../two.ts';

const others = (input: ReturnType<typeof inputOf>) => {
	const [explained] = explain(input, null, () => {});
	return { explained, found: otherHypotheses(explained!) };
};

it('three weights of which one or two left grain in the tank have several explanations', () => {
	const records = recordsOf([{ name: 'A', from_s: 0, to_s: 4000, flow: (t) => 8 * (1 + 0.3 * Math.sin(t / 300)) }]);
	const cut_kg = (from: number, to: number) => records.flow_kg_s.slice(from, to).reduce((sum, q) => sum + q, 0);
	const kg = [0.9 * cut_kg(0, 1000), cut_kg(1000, 2000), 0.45 * cut_kg(2000, 4000)].map(Math.round);
	const { explained, found } = others(
		inputOf(records, bookOf(kg.map((w, i) => dump(`D${i}`, i, [1000, 2000, 4000][i]!, w)))),
	);
	expect(found[0]!.explained).toBe(explained);
	expect(found.length).toBeGreaterThan(1);
	expect(found.reduce((sum, o) => sum + o.share, 0)).toBeCloseTo(1, 9);
	const factors = found.map((o) => o.explained.solved.factor[0]!);
	for (const k of factors.slice(1)) expect(Math.abs(k / factors[0]! - 1)).toBeGreaterThan(0.006);
});

it('a field whose weights leave no doubt has one', () => {
	const records = recordsOf(works(true));
	const { explained, found } = others(inputOf(records, bookOf(cart(records, 0, true).map((r) => r.dump))));
	expect(found).toEqual([{ explained, share: 1 }]);
});
