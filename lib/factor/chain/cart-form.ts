import { CART, type FieldPlan, type LoadBook, type Match, type Reference } from '../../model/index.ts';
import { mode } from '../../stats/index.ts';
import { driftPrice, type Layout, stepPrice } from '../../tank/index.ts';

/** How the error of the cart's main scale varied over the field: one hypothesis, common to all combines. */
export interface CartForm {
	kind: 'none' | 'step' | 'drift' | 'two';
	/** Index of the chain's step before which it changed; −1 unless `kind` is 'step'. */
	at: number;
	/** Whether the scale was within its limits at first or at last, or the first scale or the second, where no truckload checks it. */
	right: 'first' | 'last';
}

export const NO_SLIP: CartForm = { kind: 'none', at: -1, right: 'first' };

/** Key of a mark at which the cart's scale may step: this plus the index of the chain's step. */
export const CART_KEY = 2_000_000;

/** The scales that took the weights, and the truckloads that check them. */
export interface Scales {
	/** One per weighing: 0 the cart's main scale, 1 … the others, −1 not weighed on a cart. */
	of: Int32Array;
	/** Other scales, `name` null where no row names them: mean and standard uncertainty of their error against the main scale's reference, relative. */
	others: { name: string | null; mean: number; u: number }[];
	loads: Load[];
	u_ratio: number;
	/** The main scale's error against its reference if it were right as it stands, relative. */
	asWritten: number;
}

/** A truckload weighed on the cart and on a certified scale; `rel` is certified over reference mass, less 1. */
interface Load {
	truckLoad: string;
	time_s: number;
	/** Share of its grain by each scale. */
	shares: readonly number[];
	rel: number;
	/** The same with the weight of its offload alone, taken at `time_s`. */
	offload_rel: number;
	/** Standard uncertainty, relative, such that all loads together have the reference's own. */
	u: number;
	used: boolean;
}

/** Lists the scales and their truckloads, times in log time. */
export function scalesOf(match: Match, reference: Reference, book: LoadBook, plan: FieldPlan): Scales {
	const fair = reference.loads.filter((l) => Number.isFinite(l.rel));
	const used = fair.filter((l) => l.used);
	const names = match.weighings.map((w) => (w.byCart ? (book.dumps[w.dumps[0] ?? -1]?.scale ?? null) : null));
	const main = used.find((l) => l.scale !== null)?.scale ?? mode(names.filter((n) => n !== null)) ?? null;
	const others = [...new Set(names)].filter((n): n is string => n !== null && n !== main);
	const mass = used.reduce((sum, l) => sum + l.side_kg, 0);
	const u_loads = Math.sqrt(Math.max(1e-10, reference.u_rel ** 2 - CERTIFIED_U ** 2));
	const asWritten = 1 - reference.ratio;
	const indexOf = (name: string | null) => others.indexOf(name ?? '') + 1;
	return {
		of: Int32Array.from(match.weighings, (w, i) => (w.byCart ? indexOf(names[i]!) : -1)),
		others: others.map((name) => {
			const limit = plan.scales[name]?.limit_pct;
			const u = (limit ? limit / 100 : CART.unchecked_rel) / Math.sqrt(3);
			return { name, mean: asWritten, u };
		}),
		loads: fair
			.filter((l) => l.used || reference.n > 0)
			.map((l) => ({
				truckLoad: l.truckLoad,
				time_s: l.time_s + (match.clock.offset_s || 0),
				shares: [main, ...others].map((_, i) => Number(i === indexOf(l.scale))),
				rel: errorOf(1 + l.rel),
				offload_rel: errorOf(((1 + l.rel) * l.side_kg) / l.cart_kg),
				u: l.used ? u_loads * Math.sqrt(mass / l.side_kg) : CART.load_rel,
				used: l.used || indexOf(l.scale) > 0,
			})),
		u_ratio: reference.u_rel,
		asWritten,
	};
}

/** A scale's error, relative to the grain, where the certified weight is so many times its own (see `weigh`). */
const errorOf = (ratio: number): number => 1 - 1 / ratio;

/** Standard uncertainty that all tickets from a certified scale share, relative. */
export const CERTIFIED_U = CART.certified_rel / Math.sqrt(3);

/** Slots of the cart's coefficients in a layout: main scale, certified scale, the other scales, the drift (−1 without one). */
export function cartPlaces({ cart }: Layout, scales: Scales) {
	return {
		main: cart[0]!,
		certified: cart[1]!,
		others: scales.others.map((_, i) => cart[2 + i]!),
		slip: cart[2 + scales.others.length] ?? -1,
	};
}

/** Number of the cart's coefficients. */
export function cartSize(scales: Scales, form: CartForm): number {
	return 2 + scales.others.length + Number(form.kind === 'drift');
}

/** Derivatives of a weighing by the cart's coefficients, kg, in the order of `Layout.cart`. */
export function cartBasis(scales: Scales, form: CartForm, weighing: number, kg: number): number[] {
	const out = new Array<number>(cartSize(scales, form)).fill(0);
	const scale = scales.of[weighing]!;
	// A ticket is heavier by the error of its own scale.
	if (scale < 0) out[1] = -kg;
	else out[scale === 0 ? 0 : 1 + scale] = kg;
	return out;
}

/** −2 log of the prior odds of a scale error, over a field of so many hours and so many moments at which a step may fall. */
export function cartPrice(form: CartForm, hours: number, moments: number): number {
	if (form.kind === 'step') return stepPrice('cart', hours, moments);
	// Two scales are decided already (see `twoScales`).
	return form.kind === 'drift' ? driftPrice('cart') : 0;
}
