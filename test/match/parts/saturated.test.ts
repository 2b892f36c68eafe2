import { expect, it } from 'vitest';
import { explain } from '../../../lib/match/explained.ts';
import { matchField } from '../../../lib/match/index.ts';
import { saturated } from '../../../lib/match/suppose/saturated.ts';
import { type Dump, unsaturated } from '../../../lib/model/index.ts';
import { bookOf, inputOf, planOf, recordsOf } from '../hand.ts';
import { cart, works } from '../two.ts';

/** Two combines in a crop that is heavier in parts of the field; above 10 kg/s A's sensor records this share. */
function field(share: number, edit: (dumps: Dump[]) => void = () => {}) {
	const heavier = works(true).map((w) => ({ ...w, flow: (t: number) => w.flow(t) * (1.1 + 0.5 * Math.sin(t / 900)) }));
	const records = recordsOf(heavier);
	const dumps = cart(records, 0, true).map((r) => r.dump);
	edit(dumps);
	records.flow_kg_s.forEach((q, i) => {
		if (records.combine[i] === 0 && q > 10) records.flow_kg_s[i] = 10 + share * (q - 10);
	});
	return inputOf(records, bookOf(dumps), { plan: planOf(['A', 'B']) });
}

const supposed = (input: ReturnType<typeof field>) => saturated(explain(input, null, () => {})[0]!);

it('the flow from which a sensor saturates, and what it lacks above, are found from the weights', () => {
	const input = field(0.3);
	const match = matchField(input);
	// Without it three tanks seem not to be emptied, and the first to have come with grain.
	expect(new Set(match.fates.map((f) => f.status))).toEqual(new Set(['used']));
	const { saturation } = match.under!;
	expect(saturation!.combine).toBe(0);
	expect(saturation!.from_kg_s).toBeGreaterThan(8);
	expect(saturation!.from_kg_s).toBeLessThan(11);
	// At the flows that came, records are as large as the grain was.
	for (const flow of [5, 12, 14]) {
		const recorded = flow > 10 ? 10 + 0.3 * (flow - 10) : flow;
		expect(Math.abs((recorded * unsaturated(saturation!, recorded)) / flow - 1)).toBeLessThan(0.05);
	}
	expect(match.factors[0]).toBeCloseTo(1.05, 1);
	expect(match.cautions.join()).toMatch(
		/beyond [\d.]+ lb\/s \([\d.]+ kg\/s\) it seems to record only \d+% of the flow/,
	);
});

it('a sensor that records all of the flow is not supposed to saturate, whatever one weight is', () => {
	expect(supposed(field(1))).toEqual([]);
	expect(supposed(field(1, (dumps) => (dumps[6]!.weight_kg *= 1.1)))).toEqual([]);
});

it('one that records too much at high flow is no sensor that saturates', () => {
	expect(supposed(field(1.6)).map((s) => s.caution)).toEqual([]);
});

it('one that records at most some flow saturates, whatever share of the grain came at that flow', () => {
	const [found] = supposed(field(0));
	expect(found!.caution).toContain('it seems to record only');
});

it('a steady flow tells nothing', () => {
	const records = recordsOf(works(true).map((w) => ({ ...w, flow: () => 8 })));
	const dumps = cart(records, 0, true).map((r) => r.dump);
	expect(supposed(inputOf(records, bookOf(dumps), { plan: planOf(['A', 'B']) }))).toEqual([]);
});
