import { CART } from '../../model/index.ts';
import { twoGroups } from '../../stats/index.ts';
import type { Layout } from '../../tank/index.ts';
import type { BookChain } from './chain.ts';

/** One cause common to many weights: a monitor that changed, a scale that changed or drifts, a scale whose zero is off. */
export type Slip =
	| { kind: 'none'; cart: -1 }
	| { kind: 'monitor'; combine: number; at_s: number; cart: -1 }
	/** `right`: whether the scale was right at first or at last, where no truckload checks it. */
	| { kind: 'step'; cart: number; at_s: number; right: 'first' | 'last' }
	| { kind: 'drift'; cart: number; from_s: number; to_s: number; right: 'first' | 'last' }
	/** Some of the cart's loads are another cart's: when each began, and whether it is. */
	| { kind: 'two'; cart: number; since_s: readonly number[]; second: readonly boolean[]; right: 'first' | 'last' }
	| { kind: 'zero'; cart: number }
	/** Two combines' names are exchanged from some time on (see `exchanged`). */
	| { kind: 'names'; combines: readonly [number, number]; at_s: number; cart: -1 }
	/** Tanks are often left with grain; weights are taken in haste. */
	| { kind: 'rests'; cart: -1 }
	| { kind: 'hasty'; cart: -1 };

export const NO_SLIP: Slip = { kind: 'none', cart: -1 };

/** Place of what slipped in a layout: after the carts' own errors. */
export const slipSlot = (at: Layout): number => at.cart.at(-1)!;

/** Standard deviation of what slipped, relative, or in kg of a zero. */
export function slipSize(slip: Slip): number {
	const sizes: { [kind in Slip['kind']]?: number } = {
		step: CART.change,
		drift: CART.drift,
		two: CART.unchecked_rel / Math.sqrt(3),
		zero: CART.zero_kg,
	};
	return sizes[slip.kind] ?? 0;
}

/** Share of it in a scale's relative error at a time. */
export function slipOf(slip: Slip, time_s: number): number {
	if (slip.kind === 'step') return Number(time_s >= slip.at_s === (slip.right === 'first'));
	if (slip.kind === 'two') {
		const load = slip.since_s.findLastIndex((s) => s <= time_s);
		return Number((slip.second[load] ?? false) === (slip.right === 'first'));
	}
	if (slip.kind !== 'drift') return 0;
	const share = Math.min(1, Math.max(0, (time_s - slip.from_s) / (slip.to_s - slip.from_s)));
	return slip.right === 'first' ? share : 1 - share;
}

/** The chain with two combines' names exchanged from some time on. */
export function exchanged(chain: BookChain, [a, b]: readonly [number, number], at_s: number): BookChain {
	const swapped = (c: number) => (c === a ? b : c === b ? a : c);
	const loads = chain.loads.map((l) =>
		l.fill.time_s < at_s ? l : { ...l, inflows: l.inflows.map((i) => ({ ...i, combine: swapped(i.combine) })) },
	);
	return { ...chain, loads };
}

/**
 * The likeliest division of a cart's loads between two scales: by the mean ratio of weight to monitor of each, cut where the two
 * groups differ most. Null where there are too few.
 *
 * @param of - indexes of the cart's weights, in order of time
 */
export function twoScales(chain: BookChain, cart: number, of: readonly number[]): (Slip & { kind: 'two' }) | null {
	const loads: { since_s: number; log: number; n: number }[] = [];
	for (const i of of) {
		const { fill, fromEmpty, kg, inflows } = chain.loads[i]!;
		if (fromEmpty > 0 || loads.length === 0) loads.push({ since_s: fill.time_s, log: 0, n: 0 });
		const expected_kg = inflows.reduce((s, x) => s + chain.rough[x.combine]! * x.kg, 0);
		if (!(expected_kg > 0)) continue;
		const load = loads.at(-1)!;
		load.log += Math.log(kg / expected_kg);
		load.n++;
	}
	const means = loads.filter((l) => l.n > 0).map((l) => ({ rel: l.log / l.n, by: l.n }));
	const groups = twoGroups(means, LEAST_LOADS);
	if (groups === null) return null;
	const isHigh = (rel: number) => rel >= groups.from;
	// The scale that took fewer loads is the second.
	const fewHigh = 2 * means.filter((m) => isHigh(m.rel)).length < means.length;
	const second = loads.map((l) => l.n > 0 && isHigh(l.log / l.n) === fewHigh);
	return { kind: 'two', cart, since_s: loads.map((l) => l.since_s), second, right: 'first' };
}

/** Fewer loads than this on a scale are single bad weights. */
const LEAST_LOADS = 2;
