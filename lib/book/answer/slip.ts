import { CART } from '../../model/index.ts';
import type { Layout } from '../../tank/index.ts';
import type { BookChain } from './chain.ts';

/** One cause common to many weights: a monitor that changed, a scale that changed or drifts, a scale whose zero is off. */
export type Slip =
	| { kind: 'none'; cart: -1 }
	| { kind: 'monitor'; combine: number; at_s: number; cart: -1 }
	/** `right`: whether the scale was right at first or at last, where no truckload checks it. */
	| { kind: 'step'; cart: number; at_s: number; right: 'first' | 'last' }
	| { kind: 'drift'; cart: number; from_s: number; to_s: number; right: 'first' | 'last' }
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
	const sizes: { [kind in Slip['kind']]?: number } = { step: CART.change, drift: CART.drift, zero: CART.zero_kg };
	return sizes[slip.kind] ?? 0;
}

/** Share of it in a scale's relative error at a time. */
export function slipOf(slip: Slip, time_s: number): number {
	if (slip.kind === 'step') return Number(time_s >= slip.at_s === (slip.right === 'first'));
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
