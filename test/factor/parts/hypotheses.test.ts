import { describe, expect, it } from 'vitest';
import type { Chain } from '../../../lib/factor/chain/chain.ts';
import { likelihood, type Play } from '../../../lib/factor/chain/play.ts';
import { type Choice, stepAt } from '../../../lib/factor/form/choose.ts';
import { CONSTANT, type Shape } from '../../../lib/factor/form/shape.ts';
import { cartStep, changes, type Interpretation, hypothesesOf as solvedBy } from '../../../lib/factor/hypotheses.ts';
import { type SeamSeries, seamStep, withSeamChange } from '../../../lib/factor/seamchange.ts';
import { chained } from '../chained.ts';
import { type Make, make } from '../make.ts';

const START_S = 1_760_000_000;
const past = (loads: number) => START_S + 480 * loads;

/** An interpretation and the chain that it is of. */
interface Told extends Interpretation {
	chain: Chain;
}
const hypothesesOf = (
	list: readonly Told[],
	play: Play,
	forced: readonly boolean[],
	open: boolean,
	series: readonly SeamSeries[],
) => {
	const forms = forced.map((f) => (f ? ('step' as const) : undefined));
	const pinned = new Map(open ? [] : [[0, 1] as const]);
	return solvedBy({ chain: list[0]!.chain, forms, pinned }, list, play, series);
};

interface Field extends Partial<Make> {
	/** Each weight more than its grain, relative, by its place in time. */
	off?: (load: number) => number;
	use?: number[];
	/** Times of truckloads that check the scale, in tank loads from the start. */
	loads?: number[];
}
function field({ off = () => 0, use, loads = [], ...rest }: Field = {}) {
	const made = make({ seed: 4, combines: ['A'], fills: 12, slow: 0.003, reading_kg: 5, ...rest });
	const fills = made.match.weighings.length / made.records.combines.length;
	made.match.weighings.forEach((w, i) => {
		w.reference_kg *= 1 + off(i % fills);
	});
	made.reference.loads = loads.map((at, i) => ({
		truckLoad: `T${i}`,
		cart_kg: 20_000,
		ticket_kg: 20_000,
		used: true,
		reason: null,
		time_s: past(at),
		scale: null,
		rel: 0,
		side_kg: 20_000,
	}));
	const found = chained(made, use ?? made.match.weighings.map((_, w) => w));
	const prior: Play['prior'] = (_, j) => (j === 0 ? found.play.prior() : { mean: 0, u: 0.06 });
	const play: Play = { ...found.play, prior };
	const interpretation = (more: Partial<Told> = {}): Told => ({
		chain: found.chain,
		outliers: { rest: play.rest, extraVariance: new Map(), aside: [] },
		choices: made.records.combines.map(() => null),
		shapes: made.records.combines.map(() => CONSTANT),
		cost: 0,
		reconsidered: [],
		...more,
	});
	return { chain: found.chain, play, interpretation };
}
const aside = (n: number) => Array.from({ length: n }, (_, weighing) => ({ weighing, reason: '' }));
/** Log odds of one wrong weight in 700. */
const WRONG = 2 * Math.log(700);

describe('hypotheses of weights that fit one factor', () => {
	it('is one, no better than the match’s', () => {
		const { play, interpretation } = field();
		const hypotheses = hypothesesOf([interpretation()], play, [false], false, []);
		expect(hypotheses).toHaveLength(1);
		expect(hypotheses[0]).toMatchObject({ weight: 1, bySeams: null, shapes: [CONSTANT], cart: { kind: 'none' } });
	});

	it('cost what they assume: an outlier in 700 weights', () => {
		const { chain, play, interpretation } = field();
		const first = interpretation({ cost: 3, outliers: { ...interpretation().outliers, aside: aside(1) } });
		const fit = -2 * likelihood(chain, play);
		expect(hypothesesOf([first], play, [false], false, [])[0]!.cost).toBeCloseTo(fit + 3 + WRONG, 9);
	});

	it('are kept with their probabilities, none below a twentieth of the likeliest', () => {
		const { play, interpretation } = field();
		const weights = (...costs: number[]) =>
			hypothesesOf(
				costs.map((cost) => interpretation({ cost })),
				play,
				[false],
				false,
				[],
			).map((h) => h.weight);
		const sum = 1 + Math.exp(-1);
		expect(weights(2, 0, 6.1)).toEqual([expect.closeTo(1 / sum, 9), expect.closeTo(Math.exp(-1) / sum, 9)]);
		expect(weights(0, 5.9)).toHaveLength(2);
		expect(weights(0, 0, 0, 0)).toEqual([0.25, 0.25, 0.25, 0.25].map((w) => expect.closeTo(w, 9)));
	});

	it('against the match are none where nothing changes', () => {
		const { play, interpretation } = field();
		const again = interpretation({ cost: -50, reconsidered: [0] });
		expect(hypothesesOf([interpretation(), again], play, [false], false, [])).toHaveLength(1);
		const changed = interpretation({ cost: -50, reconsidered: [0], shapes: [stepAt(past(6))] });
		const hypotheses = hypothesesOf([interpretation(), changed], play, [false], false, []);
		expect(hypotheses.map((h) => h.interpretation)).toEqual([changed]);
	});
});

describe('a form that passed its own test', () => {
	const trend: Shape = { ...CONSTANT, form: 'trend', middle_s: past(6), half_s: 2880 };
	const curve: Shape = { ...CONSTANT, form: 'flow', flow_kg_s: 12, flowRange_kg_s: [6, 15] };
	const choice = (noted: boolean): Choice => ({ shape: CONSTANT, tried: [], gains: {}, noted });
	/** Cost above what the weights' likelihood with a change of the usual 6 % gives. */
	function price(shape: Shape, { forced = false, noted = false, fills = 12 } = {}) {
		const { chain, play, interpretation } = field({ fills, off: (k) => (k < 6 ? 0.05 : 0) });
		const of = interpretation({ shapes: [shape], choices: [choice(noted)] });
		const hypotheses = hypothesesOf([of], play, [forced], false, []);
		expect(hypotheses.map((h) => h.shapes)).toEqual([[shape]]);
		const prior: Play['prior'] = (c, j) => (j === 1 ? { mean: 0, u: 0.06 } : play.prior(c, j));
		return hypotheses[0]!.cost + 2 * likelihood(chain, { ...play, shapes: [shape], prior });
	}

	it('costs by how long there was for a change, and how many moments it may fall on', () => {
		// From the first weight to the twelfth: eleven tank loads of 8 minutes; a change in 100 hours.
		expect(price(stepAt(past(6)))).toBeCloseTo(-2 * Math.log((11 * 480) / 3600 / 100 / 12), 6);
		expect(price(trend)).toBeCloseTo(-2 * Math.log(0.1), 6);
		// Of a long field at most as likely as not.
		expect(price(stepAt(past(6)), { fills: 400 })).toBeCloseTo(-2 * Math.log(0.5 / 400), 6);
	});

	it('costs nothing where it was entered or set by hand', () => {
		expect(price(stepAt(past(6)), { noted: true })).toBeCloseTo(0, 6);
		expect(price(trend, { forced: true })).toBeCloseTo(0, 6);
	});

	it('of another kind than one that changes is no change', () => {
		expect([CONSTANT, stepAt(3), trend, curve].map(changes)).toEqual([false, true, true, false]);
	});

	it('is dropped only where the scale’s error replaces it', () => {
		const { play, interpretation } = field({ combines: ['A', 'B'], off: (k) => (k < 6 ? 0.08 : 0), seed: 9 });
		const of = interpretation({ shapes: [stepAt(past(6)), stepAt(past(6))] });
		const hypotheses = hypothesesOf([of], play, [false, false], true, []);
		expect(hypotheses[0]!.cart.kind).toBe('step');
		expect(hypotheses[0]!.shapes).toEqual([CONSTANT, CONSTANT]);
		for (const h of hypotheses) if (h.cart.kind === 'none') expect(h.shapes).toEqual(of.shapes);
		const closed = hypothesesOf([of], play, [false, false], false, []);
		expect(closed.map((h) => [h.cart.kind, h.shapes])).toEqual([['none', of.shapes]]);
		// One that was entered holds, whatever the scale did.
		const entered = hypothesesOf(
			[interpretation({ ...of, choices: [choice(true), null] })],
			play,
			[false, false],
			true,
			[],
		);
		for (const h of entered) expect(h.shapes[0]).toBe(of.shapes[0]);
	});
});

describe('an error of the cart’s scale', () => {
	it('is a step at the weight from which all are off, or nothing', () => {
		const { chain, play } = field({ off: (k) => (k < 7 ? 0 : 0.06) });
		const found = cartStep(chain, play)!;
		expect(found).toMatchObject({ kind: 'step', right: 'first' });
		expect(chain.steps[found.at]).toMatchObject({ do: 'weigh', weighing: 7 });
	});

	it('has two weights on either side at least', () => {
		const at = (from: number, fills = 12) => {
			const { chain, play } = field({ off: (k) => (k < from ? 0 : 0.06), fills });
			const step = cartStep(chain, play);
			return step && (chain.steps[step.at] as { weighing: number }).weighing;
		};
		expect([at(2), at(10), at(1), at(11)]).toEqual([2, 10, 2, 10]);
		expect(at(2, 4)).toBe(2);
		expect(at(2, 3)).toBeNull();
		const { play, interpretation } = field({ fills: 3, off: (k) => 0.2 * k });
		expect(hypothesesOf([interpretation()], play, [false], true, []).map((h) => h.cart.kind)).toEqual(['none']);
	});

	it('may begin at a truckload, and is of the cart’s weights alone', () => {
		const { chain, play } = field({ off: (k) => (k < 7 ? 0 : 0.06), loads: [7.5, 9.5] });
		const step = cartStep(chain, play)!;
		const at = chain.steps[step.at]!;
		expect(at.do === 'check' || (at.do === 'weigh' && at.weighing === 7)).toBe(true);
		const tickets = field({ off: (k) => (k < 7 ? 0 : 0.06) });
		tickets.chain.scales.of.fill(-1);
		expect(cartStep(tickets.chain, tickets.play)).toBeNull();
	});

	it('costs its prior odds: one in 400 hours, at any of the weights', () => {
		const { chain, play, interpretation } = field({ combines: ['A', 'B'], off: (k) => (k < 6 ? 0.1 : 0), seed: 9 });
		const hypotheses = hypothesesOf([interpretation()], play, [false, false], true, []);
		const best = hypotheses[0]!;
		expect(best.cart.kind).toBe('step');
		const fit = -2 * likelihood(chain, { ...play, cart: best.cart });
		expect(best.cost - fit).toBeCloseTo(-2 * Math.log((11 * 480) / 3600 / 400 / 24), 6);
	});

	it('was right at first or at last, each as likely, unless truckloads check it', () => {
		const open = (loads: number[]) => {
			const { play, interpretation } = field({ combines: ['A', 'B'], off: (k) => (k < 6 ? 0.1 : 0), seed: 9, loads });
			return hypothesesOf([interpretation()], play, [false, false], true, []);
		};
		const unchecked = open([]).filter((h) => h.cart.kind === 'step');
		expect(unchecked.map((h) => h.cart.right)).toEqual(['first', 'last']);
		expect(unchecked[0]!.weight).toBeCloseTo(unchecked[1]!.weight, 12);
		expect(open([]).reduce((s, h) => s + h.weight, 0)).toBeCloseTo(1, 12);
		expect(
			open([8, 9, 10])
				.filter((h) => h.cart.kind === 'step')
				.map((h) => h.cart.right),
		).toEqual(['first']);
	});

	it('may be a drift', () => {
		const { play, interpretation } = field({ combines: ['A', 'B'], off: (k) => 0.012 * k, seed: 9 });
		const [best] = hypothesesOf([interpretation()], play, [false, false], true, []);
		expect(best!.cart.kind).toBe('drift');
	});

	it('of two scales that were told apart before is decided', () => {
		const { chain, play, interpretation } = field({ off: (k) => (k % 2 ? 0.05 : 0) });
		const others = [{ name: null, mean: 0, u: 0.06 }];
		const of = chain.scales.of.map((_, w) => w % 2);
		const two = { ...chain, scales: { ...chain.scales, others, of } };
		const hypotheses = hypothesesOf([interpretation({ chain: two })], play, [false], true, []);
		expect(hypotheses.map((h) => [h.cart.kind, h.cart.right])).toEqual([
			['two', 'first'],
			['two', 'last'],
		]);
	});
});

describe('a change as the seams show it', () => {
	const series = (combine = 0): SeamSeries => ({
		combine,
		time_s: Array.from({ length: 12 }, (_, k) => past(k + 0.5)),
		log: Array.from({ length: 12 }, (_, k) => (k < 6 ? -0.06 : 0)),
		scatter: 0.01,
	});

	it('counts beside weights that show none, at the seams’ odds', () => {
		const { chain, play, interpretation } = field({ off: (k) => (k < 6 ? 0.06 : 0) });
		const hypotheses = hypothesesOf([interpretation()], play, [false], false, [series()]);
		const best = hypotheses[0]!;
		const seam = seamStep(series())!;
		expect(best.bySeams).toEqual(seam);
		expect(best.shapes).toEqual([seam.shape]);
		const prior = withSeamChange(play.prior, seam, [1]);
		const fit = -2 * likelihood(chain, { ...play, shapes: best.shapes, prior });
		expect(best.cost - fit).toBeCloseTo(seam.cost, 6);
	});
});
