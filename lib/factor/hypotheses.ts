import { greatest } from 'd3-array';
import { CART } from '../model/index.ts';
import { backward, driftPrice, stepPrice } from '../tank/index.ts';
import { CART_KEY, type CartForm, cartPrice, NO_SLIP } from './chain/cart-form.ts';
import { type Chain, ownWeights } from './chain/chain.ts';
import { likelihood, type Play, taped } from './chain/play.ts';
import type { Choice } from './form/choose.ts';
import { CONSTANT, type Shape } from './form/shape.ts';
import type { Outliers } from './outliers.ts';
import type { Premises } from './premises.ts';
import { type SeamChange, type SeamSeries, seamSteps, withSeamChange } from './seamchange.ts';

/** Which weights count, and after which unloadings grain was left in the tank. */
export interface Interpretation {
	outliers: Outliers;
	choices: (Choice | null)[];
	/** Forms of the factors, each chosen by its own test. */
	shapes: Shape[];
	/** −2 log prior odds of the grain left in tanks. */
	cost: number;
	/** Combines with tanks emptied, against the match. */
	reconsidered: readonly number[];
}

/** An interpretation with a form for every factor and for the error of the cart's scale. */
export interface Hypothesis {
	interpretation: Interpretation;
	shapes: Shape[];
	cart: CartForm;
	/** What the seams show of its one change of a factor; null = nothing, or there is no such change. */
	bySeams: SeamChange | null;
	/** −2 log of likelihood times prior odds. */
	cost: number;
	/** Probability. */
	weight: number;
}

/** Cost of an outlier, in −2 log-likelihood: it is in the chain with added variance. */
const OUTLIER_COST = 2 * Math.log(CART.nonsense);
/** Hypotheses less likely than this, relative to the best, are dropped. */
const LEAST = 0.05;
/** Fewest weights on either side of a change of the cart's scale. */
const SIDE = 2;

/**
 * Compares hypotheses by likelihood and prior odds: changes of single factors against one change of the cart's scale, which is
 * common to all combines.
 *
 * @param play - settings for likelihoods, with constant factors
 * @param series - seams of combines whose factor and form are not set by hand
 * @returns the hypotheses that remain, likeliest first
 */
export function hypothesesOf(
	{ chain, forms, pinned }: Pick<Premises, 'chain' | 'forms' | 'pinned'>,
	interpretations: readonly Interpretation[],
	play: Play,
	series: readonly SeamSeries[],
): Hypothesis[] {
	const all: Hypothesis[] = [];
	const hours = chain.span_s / 3600;
	for (const interpretation of interpretations) {
		const { outliers, choices, shapes: found } = interpretation;
		const price = interpretation.cost + OUTLIER_COST * outliers.aside.length;
		// A form that was entered or set by hand holds, whatever the cart's scale did.
		const certain = found.map((s, c) => (forms[c] || choices[c]?.noted || !changes(s) ? s : CONSTANT));
		for (const shapes of same(found, certain) ? [certain] : [found, certain]) {
			const now: Play = {
				...play,
				shapes,
				rest: outliers.rest,
				extraVariance: outliers.extraVariance,
			};
			const unnoted = shapes.flatMap((s, c) => (s !== certain[c] ? [c] : []));
			const own = unnoted.reduce((sum, c) => sum + monitorPrice(shapes[c]!, hours, ownWeights(chain, c).length), 0);
			const hypothesis = (cart: CartForm, bySeams: SeamChange | null, of: Shape[], prices: number): Hypothesis => {
				const prior = bySeams ? withSeamChange(play.prior, bySeams, chain.rough) : play.prior;
				const fit = -2 * likelihood(chain, { ...now, shapes: of, prior, cart });
				const cost = fit + price + prices + (bySeams?.cost ?? 0) + cartPrice(cart, hours, chain.order.length);
				return { interpretation, shapes: of, cart, bySeams, cost, weight: 0 };
			};
			const { reconsidered } = interpretation;
			// Factors set by hand may contradict every weight.
			for (const cart of pinned.size > 0 ? [NO_SLIP] : cartForms(chain, now)) {
				const changed = cart.kind === 'step' || reconsidered.some((c) => shapes[c] !== CONSTANT);
				if (reconsidered.length === 0 || changed) all.push(hypothesis(cart, null, shapes, own));
			}
			if (!same(shapes, certain) || shapes.some(changes)) continue;
			// Against the match only a change that explains more than emptied tanks do: these alone it has weighed itself.
			const most = reconsidered.length > 0 ? hypothesis(NO_SLIP, null, shapes, own).cost : Infinity;
			for (const step of seamSteps(series)) {
				const changed = shapes.map((s, c) => (c === step.combine ? step.shape : s));
				const found = hypothesis(NO_SLIP, step, changed, 0);
				if (found.cost < most) all.push(found);
			}
		}
	}
	return weighted(
		all,
		chain.scales.loads.some((l) => l.used),
	);
}

/** The likely ones with their probabilities. */
function weighted(all: Hypothesis[], checked: boolean): Hypothesis[] {
	all.sort((a, b) => a.cost - b.cost);
	const best = all[0]!;
	const list = all.filter((w) => Math.exp((best.cost - w.cost) / 2) > LEAST).flatMap((w) => sides(w));
	const sum = list.reduce((total, w) => total + w.weight, 0);
	return list.map((w) => ({ ...w, weight: w.weight / sum }));

	/** Where no truckload checks the scale, it may have been right before it changed or after. */
	function sides(w: Hypothesis): Hypothesis[] {
		const weight = Math.exp((best.cost - w.cost) / 2);
		if (checked || w.cart.kind === 'none') return [{ ...w, weight }];
		return [
			{ ...w, weight: weight / 2 },
			{ ...w, weight: weight / 2, cart: { ...w.cart, right: 'last' } },
		];
	}
}

function monitorPrice(shape: Shape, hours: number, moments: number): number {
	if (shape.form === 'step') return shape.changes_s.length * stepPrice('monitor', hours, moments);
	return shape.form === 'trend' ? driftPrice('monitor') : 0;
}

/** Whether the factor changes with time. */
export function changes(shape: Shape): boolean {
	return shape.form === 'step' || shape.form === 'trend';
}

function same(a: readonly Shape[], b: readonly Shape[]): boolean {
	return a.every((s, i) => s === b[i]);
}

/** Lists no error of the cart's scale, a drift, and the likeliest step. */
function cartForms(chain: Chain, play: Play): CartForm[] {
	if (chain.scales.others.some((s) => s.name === null)) return [{ ...NO_SLIP, kind: 'two' }];
	const weighings = chain.order.filter((w) => chain.scales.of[w]! >= 0).length;
	if (weighings < 2 * SIDE) return [NO_SLIP];
	const step = cartStep(chain, play);
	return [NO_SLIP, { ...NO_SLIP, kind: 'drift' }, ...(step ? [step] : [])];
}

/** The likeliest step of the cart's scale; null where too few weights lie on either side of any. */
export function cartStep(chain: Chain, play: Play): CartForm | null {
	const weighings = chain.order.filter((w) => chain.scales.of[w]! >= 0).length;
	let seen = 0;
	const before = chain.steps.map((s) => (s.do === 'weigh' && chain.scales.of[s.weighing]! >= 0 ? seen++ : seen));
	const moments = backward(taped(chain, play).tape).marks.filter((m) => {
		const early = m.key >= CART_KEY ? before[m.key - CART_KEY]! : 0;
		return early >= SIDE && weighings - early >= SIDE;
	});
	const best = greatest(moments, (m) => m.gain);
	return best ? { ...NO_SLIP, kind: 'step', at: best.key - CART_KEY } : null;
}
