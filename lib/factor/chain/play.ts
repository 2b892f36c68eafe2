import { CART, type Match, MONITOR, TANK } from '../../model/index.ts';
import { Belief, flowIn, type Layout, layout, Tape, unload, weigh } from '../../tank/index.ts';
import { basisOf, type Shape, size } from '../form/shape.ts';
import { type CartForm, cartBasis, cartSize, NO_SLIP } from './cart-form.ts';
import { type Chain, coversOnly, type Step } from './chain.ts';
import { playScale } from './play-scale.ts';

/** Sizes of errors and shapes of factors with which a chain is run through the tank model. */
export interface Play {
	shapes: readonly Shape[];
	/** Prior mean and standard deviation of a combine's coefficient; `seam` where the prior comes from the seams. */
	prior: (combine: number, coefficient: number) => { mean: number; u: number; seam?: boolean };
	sigma: number;
	/** The monitor's white error over one fill, relative standard deviation. */
	white: number;
	/** Multiplies the variance of the grain left in tanks. */
	rests: number;
	/** Grain left after each unloading, by its index in Match.unloadings; at `length + c` what combine c arrived with. */
	rest: Rests;
	/** Variance added to weights that are outliers, kg², by index in Match.weighings. */
	extraVariance: ReadonlyMap<number, number>;
	/** Equations observed after all weights. */
	relations: readonly Relation[];
	/** Hypothesis about the cart scale's error. */
	cart: CartForm;
	/**
	 * The final run, which gives the estimates: the truckloads together have the reference's own ratio and uncertainty, and
	 * a factor may change where no weight would show it, before a combine's first own weight and after its last.
	 */
	last?: boolean;
}

/** Grain left in the tank: means and standard uncertainties before any weight (see `Play.rest` for the order). */
export interface Rests {
	kg: Float64Array;
	u_kg: Float64Array;
}

/** A linear equation over several combines: Σ by × (coefficient; −1 = the mass brought in) = value. */
export interface Relation {
	at: readonly { combine: number; coefficient: number; by: number }[];
	value: number;
	variance: number;
	cause: 'seam' | 'curve' | 'prior';
	df: number;
}

/**
 * The layout of the state vector for a chain with these shapes.
 *
 * @param brought - with the grain brought in, which the estimates are of, and the equations from seams
 */
export function places(chain: Chain, play: Play, brought = play.last || relatesMass(play)): Layout {
	return layout(play.shapes.map(size), chain.places, cartSize(chain.scales, play.cart), brought);
}

/** Whether an equation is about the mass brought in. */
const relatesMass = ({ relations }: Play): boolean => relations.some((r) => r.at.some((t) => t.coefficient < 0));

/** Key of a mark at which a factor may step: this plus the index of the chain's step. Smaller keys are unloadings. */
export const STEP_KEY = 1_000_000;

/**
 * Runs a chain through the tank model: all grain and all weights in order of time, then the relations.
 *
 * @param b - filter state of the size that `places` gives; a `Tape` where a backward pass is to follow
 * @returns log likelihood of the weights and relations
 */
export function run(chain: Chain, play: Play, at: Layout, b: Belief): number {
	const { match, time, rough } = chain;
	play.shapes.forEach((shape, c) => {
		for (let j = 0; j < size(shape); j++) {
			const { mean, u, seam } = play.prior(c, j);
			b.set(at.factor[c]! + j, mean, u * u, seam ? 'curve' : 'prior');
		}
		b.set(at.slow[c]!, 0, play.sigma ** 2, 'slow');
		const start = match.unloadings.length + c;
		b.set(at.level[c]!, play.rest.kg[start]!, play.rests * play.rest.u_kg[start]! ** 2, 'rest');
	});
	const cart = playScale(chain, play.cart, play.last ?? false, at, b);
	// A prior is of the factor as this scale shows it: monitors do not check scales.
	for (const slot of at.factor) b.mix(slot, 1, [cart.main], [1]);
	let sum = 0;
	const between = play.last ? weighedBetween(chain) : play.shapes.map(() => [0, 0] as const);
	chain.steps.forEach((step, index) => {
		if (step.do === 'in') {
			const segment = time.segments[step.segment]!;
			const c = segment.combine;
			const piece = segment.pieces[step.piece]!;
			if (step.inTank) b.mark(at.factor[c]!, STEP_KEY + index, true);
			const [first, last] = between[c]!;
			if (play.last && (index < first || index > last)) {
				const hours = step.seconds / 3600;
				b.mix(at.factor[c]!, 1, [], [], 0, (rough[c]! * MONITOR.change) ** 2 * (hours / MONITOR.change_h), 'change');
			}
			flowIn(
				b,
				at,
				{
					combine: c,
					course: step.course,
					basis_kg: basisOf(play.shapes[c]!, piece),
					rough: rough[c]!,
					// One error per tank load: each piece has its share of the variance.
					white: play.white * Math.sqrt(segment.account_kg / piece.kg),
					inTank: step.inTank,
					totals: step.totals.map((place) => at.free[place]!),
				},
				play.sigma,
			);
		} else if (step.do === 'unload') {
			const u = match.unloadings[step.unloading]!;
			const onto = step.onto.map((p) => at.free[p]!);
			for (const p of step.opened) b.set(at.free[p]!, 0, 0);
			const rest_kg = play.rest.kg[step.unloading]!;
			const u_kg = Math.sqrt(play.rests) * play.rest.u_kg[step.unloading]!;
			unload(b, at, u.combine, onto, { kg: rest_kg, u_kg, key: step.unloading });
		} else {
			cart.goesOn(index, step.since_s);
			sum += step.do === 'check' ? cart.check(step.load) : weighed(chain, play, at, b, step);
		}
	});
	cart.end();
	for (const r of play.relations) {
		sum += b.observe(
			r.at.map((t) => (t.coefficient < 0 ? at.brought[t.combine]! : at.factor[t.combine]! + t.coefficient)),
			r.at.map((t) => t.by),
			r.value,
			r.variance,
			r.cause,
		);
	}
	return sum;
}

/** A chain as it was run, for a backward pass. */
export function taped(chain: Chain, play: Play): { at: Layout; tape: Tape } {
	const at = places(chain, play);
	const tape = new Tape(at.n);
	run(chain, play, at, tape);
	return { at, tape };
}

function weighed(chain: Chain, play: Play, at: Layout, b: Belief, step: Extract<Step, { do: 'weigh' }>): number {
	const w = chain.match.weighings[step.weighing]!;
	const scale = w.byCart ? chain.scaleRatio : 1;
	for (const r of [step.before, step.after]) {
		if (r.place >= 0 && Number.isFinite(r.u_kg)) b.set(at.free[r.place]!, 0, (scale * r.u_kg) ** 2, 'reading');
	}
	const alone = step.before.place < 0 ? (scale * (w.u_reading_kg || 0)) ** 2 : 0;
	const kg = w.reference_kg;
	const own = CART.rounding_kg ** 2 + (CART.stand_rel * kg) ** 2;
	if (b instanceof Tape) b.key = step.weighing;
	return weigh(b, at, at.free[step.on]!, {
		kg,
		variance: own + alone + (play.extraVariance.get(step.weighing) ?? 0),
		before: step.before.place < 0 ? -1 : at.free[step.before.place]!,
		after: step.after.place < 0 ? -1 : at.free[step.after.place]!,
		cart_kg: w.kind === 'total' ? [] : cartBasis(chain.scales, play.cart, step.weighing, kg),
	});
}

/** First and last step of the chain at which each combine was weighed alone; the whole chain where it never was. */
function weighedBetween(chain: Chain): (readonly [number, number])[] {
	return chain.time.account_kg.map((_, c) => {
		const own = chain.steps.flatMap((s, index) =>
			s.do === 'weigh' && coversOnly(chain.match, s.weighing, c) ? [index] : [],
		);
		return own.length > 0 ? ([own[0]!, own.at(-1)!] as const) : ([0, chain.steps.length] as const);
	});
}

/** Log likelihood of a chain's weights and relations. */
export function likelihood(chain: Chain, play: Play): number {
	const at = places(chain, play, relatesMass(play));
	return run(chain, play, at, new Belief(at.n));
}

/** Grain left in tanks before any weight is used. */
export function restsOf(match: Match, rough: readonly number[]): Rests {
	const n = match.unloadings.length;
	const rests: Rests = { kg: new Float64Array(n + rough.length), u_kg: new Float64Array(n + rough.length) };
	match.unloadings.forEach((u, i) => {
		const k = Number.isFinite(rough[u.combine]!) ? rough[u.combine]! : 1;
		rests.kg[i] = u.rest_kg || 0;
		// An error in the time of unloading moves mass from one fill to the next, as grain left in the tank does.
		rests.u_kg[i] = Math.hypot(Math.max(TANK.clinging_kg, u.u_rest_kg || 0), k * (u.u_account_kg || 0));
	});
	rough.forEach((_, c) => {
		const s = match.start_kg[c];
		rests.kg[n + c] = Number.isFinite(s?.kg) ? s!.kg : 0;
		rests.u_kg[n + c] = Number.isFinite(s?.u_kg) ? s!.u_kg : 0;
	});
	return rests;
}

/** Default settings: wide priors about the rough factors, usual sizes of errors, no scale error. */
export function usual(
	rough: readonly number[],
	shapes: readonly Shape[],
	rest: Rests,
	relations: readonly Relation[],
): Play {
	return {
		shapes,
		prior: (c, j) => ({ mean: j === 0 ? rough[c]! : 0, u: rough[c]! }),
		sigma: MONITOR.slow,
		white: 0,
		rests: 1,
		rest,
		extraVariance: new Map(),
		relations,
		cart: NO_SLIP,
	};
}
