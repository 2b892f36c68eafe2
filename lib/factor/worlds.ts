import { CART, MONITOR } from '../model/index.ts';
import { backward, Tape } from '../tank/index.ts';
import { CART_KEY, type CartForm, cartPrice, NO_SLIP } from './chain/cart.ts';
import type { Chain } from './chain/chain.ts';
import { likelihood, type Play, places, run } from './chain/play.ts';
import type { Doubts } from './doubt.ts';
import { type Choice, ownWeights, stepAt } from './form/choose.ts';
import { CONSTANT, type Shape } from './form/shape.ts';
import type { TailStep } from './tail.ts';

/** One way to read the weights: which of them count, and in which tanks grain stayed. */
export interface Reading {
	chain: Chain;
	doubts: Doubts;
	choices: (Choice | null)[];
	/** The forms chosen, each by its own test. */
	shapes: Shape[];
	/** −2 log of the odds of its rests. */
	cost: number;
	/** Combines whose change was taken for rests and wrong weights by the alignment; weights taken up again. */
	fresh: readonly number[];
	takenUp: readonly number[];
}

/** A reading with the forms of all factors and of the cart's scale. */
export interface World {
	reading: Reading;
	shapes: Shape[];
	cart: CartForm;
	/** A change that no weight shows, as the seams tell it; null = none. */
	tail: TailStep | null;
	/** −2 log of likelihood and odds. */
	cost: number;
	weight: number;
}

/** One weight in so many is nonsense, and may then be anything: what one costs that is not believed, in −2 log-likelihood. */
const NONSENSE_COST = 2 * Math.log(CART.nonsense);
const ASIDE_COST = 2 * Math.log(CART.nonsense * CART.nonsense_kg);
/** Worlds less likely than this are not carried on; nor more than so many beside the likeliest. */
const LEAST = 0.05;
const MOST = 3;
/** Fewest weights on either side of a change of the cart's scale. */
const SIDE = 2;

/**
 * The worlds that remain: what the factors' own forms explain against one slip of the cart, common to all combines, by one
 * likelihood and the odds of each.
 *
 * @param play - with constants, for likelihoods
 * @param forced - by combine: its form was set by hand
 * @param open - the cart's scale is asked after: not where factors set by hand may contradict every weight
 * @param tails - changes after the last weights that the seams may tell
 * @returns the worlds, and what they gain over the alignment's own one factor, in −2 log-likelihood
 */
export function worldsOf(
	readings: readonly Reading[],
	play: Play,
	forced: readonly boolean[],
	open: boolean,
	tails: readonly TailStep[],
): { worlds: World[]; gain: number } {
	const all: World[] = [];
	let plain = Number.NaN;
	const counted = Math.max(...readings.map((r) => r.chain.order.length));
	for (const reading of readings) {
		const { chain, doubts, choices, shapes: found } = reading;
		const price = reading.cost + NONSENSE_COST * doubts.aside.length + ASIDE_COST * (counted - chain.order.length);
		const hours = chain.span_s / 3600;
		// What was noted or set by hand happened, whatever the cart did.
		const settled = found.map((s, c) => (forced[c] || choices[c]?.noted || !changes(s) ? s : CONSTANT));
		if (reading === readings[0])
			plain = price - 2 * likelihood(chain, { ...play, rest: doubts.rest, doubt: doubts.doubt });
		for (const shapes of same(found, settled) ? [settled] : [found, settled]) {
			const now: Play = { ...play, shapes, rest: doubts.rest, doubt: doubts.doubt, prior: proper(play, chain) };
			const unnoted = shapes.filter((s, c) => s !== settled[c]);
			const own = unnoted.reduce(
				(sum, s) => sum + monitorPrice(s, hours, ownWeights(chain, shapes.indexOf(s)).length),
				0,
			);
			for (const cart of open ? cartForms(chain, now) : [NO_SLIP]) {
				const changed = cart.kind === 'step' || reading.fresh.some((c) => changes(shapes[c]!));
				if (reading.fresh.length > 0 && !changed) continue;
				const fit = -2 * likelihood(chain, { ...now, cart });
				const cost = fit + price + own + cartPrice(cart, hours, chain.order.length);
				// One constant beside forms that passed their own test is no answer.
				if (cart.kind === 'none' && !same(shapes, found)) continue;
				all.push({ reading, shapes, cart, tail: null, cost, weight: 0 });
				for (const tail of cart.kind === 'none' ? tails : [])
					if (!changes(shapes[tail.combine]!)) {
						const stepped = shapes.map((s, c) => (c === tail.combine ? stepAt(tail.time_s) : s));
						all.push({ reading, shapes: stepped, cart, tail, cost: cost + tail.cost, weight: 0 });
					}
			}
		}
	}
	const worlds = weighted(all);
	return { worlds, gain: plain - worlds[0]!.cost };
}

function weighted(all: World[]): World[] {
	all.sort((a, b) => a.cost - b.cost);

	const best = all[0]!;
	const list = all
		.filter((w) => Math.exp((best.cost - w.cost) / 2) > LEAST)
		.slice(0, 1 + MOST)
		.flatMap((w) => sides(w));
	const sum = list.reduce((total, w) => total + w.weight, 0);
	return list.map((w) => ({ ...w, weight: w.weight / sum }));

	/** Where no truck load tells, the scale may have been right before it changed or after. */
	function sides(w: World): World[] {
		const weight = Math.exp((best.cost - w.cost) / 2);
		const told = w.reading.chain.scales.loads.some((l) => l.used);
		if (told || w.cart.kind === 'none') return [{ ...w, weight }];
		return [
			{ ...w, weight: weight / 2 },
			{ ...w, weight: weight / 2, cart: { ...w.cart, right: 'last' } },
		];
	}
}

/** Changes of a factor with the odds of their size. */
function proper(play: Play, { rough }: Chain): Play['prior'] {
	return (c, j) => {
		const given = play.prior(c, j);
		if (j === 0 || given.seam) return given;
		return { mean: 0, u: rough[c]! * MONITOR.change };
	};
}

function monitorPrice(shape: Shape, hours: number, moments: number): number {
	if (shape.form === 'step') return -2 * Math.log(Math.min(0.5, hours / MONITOR.change_h) / Math.max(1, moments));
	return shape.form === 'trend' ? -2 * Math.log(MONITOR.drifts) : 0;
}

export function changes(shape: Shape): boolean {
	return shape.form === 'step' || shape.form === 'trend';
}

function same(a: readonly Shape[], b: readonly Shape[]): boolean {
	return a.every((s, i) => s === b[i]);
}

/** No slip; a drift of the cart's scale; its likeliest step. */
function cartForms(chain: Chain, play: Play): CartForm[] {
	const weighings = chain.order.filter((w) => chain.scales.of[w]! >= 0).length;
	if (weighings < 2 * SIDE) return [NO_SLIP];
	const at = places(chain, play);
	const tape = new Tape(at.n);
	run(chain, play, at, tape);
	let seen = 0;
	const before = chain.steps.map((s) => (s.do === 'weigh' && chain.scales.of[s.weighing]! >= 0 ? seen++ : seen));
	const moments = backward(tape).marks.filter((m) => {
		const early = m.key >= CART_KEY ? before[m.key - CART_KEY]! : 0;
		return early >= SIDE && weighings - early >= SIDE;
	});
	const best = moments.reduce<(typeof moments)[number] | null>((a, b) => (a === null || b.gain > a.gain ? b : a), null);
	const forms: CartForm[] = [NO_SLIP, { ...NO_SLIP, kind: 'drift' }];
	if (best) forms.push({ ...NO_SLIP, kind: 'step', at: best.key - CART_KEY });
	return forms;
}
