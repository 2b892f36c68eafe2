import { CART, type FieldPlan, type LoadBook, type Match, type Reference } from '../../model/index.ts';
import type { Layout } from '../../tank/index.ts';

/** How the scale that weighed all dumps may have gone wrong: one hypothesis, common to all combines. */
export interface CartForm {
	kind: 'none' | 'step' | 'drift';
	/** Step of the chain before which it changed; −1 where it did not change at once. */
	at: number;
	/** When the scale was within what is known of it, where no truck load tells. */
	right: 'first' | 'last';
}

export const NO_SLIP: CartForm = { kind: 'none', at: -1, right: 'first' };

/** Keys of marks at which the cart's scale may step: this and the index of the chain's step. */
export const CART_KEY = 2_000_000;

/** The scales behind the weights, and the truck loads that check them. */
export interface Scales {
	/** One a weighing: 0 the cart's main scale, 1 … the others, −1 none of the cart's. */
	of: Int32Array;
	/** Other scales: what they are expected to be off against the main one's reference, and how far they may be, relative. */
	others: { name: string; mean: number; u: number }[];
	loads: Load[];
	u_ratio: number;
}

/** A truck load weighed by both: true over reference mass, less 1. */
interface Load {
	time_s: number;
	scale: number;
	rel: number;
	/** The same by the offload alone, which was weighed at that time. */
	offload_rel: number;
	/** Standard uncertainty by which the loads together come to the reference's own, relative. */
	u: number;
	used: boolean;
}

export function scalesOf(match: Match, reference: Reference, book: LoadBook, plan: FieldPlan): Scales {
	const fair = reference.loads.filter((l) => Number.isFinite(l.rel));
	const used = fair.filter((l) => l.used);
	const names = match.weighings.map((w) => (w.byCart ? (book.dumps[w.dumps[0] ?? -1]?.scale ?? null) : null));
	const main = used.find((l) => l.scale !== null)?.scale ?? mostCommon(names);
	const others = [...new Set(names)].filter((n): n is string => n !== null && n !== main);
	const mass = used.reduce((sum, l) => sum + l.side_kg, 0);
	const u_loads = Math.sqrt(Math.max(1e-10, reference.u_rel ** 2 - CERTIFIED_U ** 2));
	const indexOf = (name: string | null) => others.indexOf(name ?? '') + 1;
	return {
		of: Int32Array.from(match.weighings, (w, i) => (w.byCart ? indexOf(names[i]!) : -1)),
		others: others.map((name) => {
			const limit = plan.scales[name]?.limit_pct;
			const u = (limit ? limit / 100 : CART.unchecked_rel) / Math.sqrt(3);
			return { name, mean: 1 / reference.ratio - 1, u };
		}),
		loads: fair
			.filter((l) => l.used || reference.n > 0)
			.map((l) => ({
				time_s: l.time_s + (match.clock.offset_s || 0),
				scale: indexOf(l.scale),
				rel: l.rel,
				offload_rel: ((1 + l.rel) * l.side_kg) / l.cart_kg - 1,
				u: l.used ? u_loads * Math.sqrt(mass / l.side_kg) : CART.load_rel,
				used: l.used || indexOf(l.scale) > 0,
			})),
		u_ratio: reference.u_rel,
	};
}

/** Was this weight taken by a second scale that no truck load checks? */
export function unchecked({ of, loads }: Scales, weighing: number): boolean {
	const scale = of[weighing]!;
	return scale > 0 && !loads.some((l) => l.used && l.scale === scale);
}

/** Standard uncertainty that all tickets of a certified scale share, relative. */
export const CERTIFIED_U = CART.certified_rel / Math.sqrt(3);

function mostCommon(names: readonly (string | null)[]): string | null {
	const count = new Map<string, number>();
	for (const n of names) if (n !== null) count.set(n, (count.get(n) ?? 0) + 1);
	return [...count].sort((a, b) => b[1] - a[1])[0]?.[0] ?? null;
}

/** Where the cart's coefficients stand in a layout: main scale, certified scale, the other scales, the slip. */
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

/** How a weighing hangs on the cart's coefficients, kg each, in the order of `Layout.cart`. */
export function cartBasis(scales: Scales, form: CartForm, weighing: number, kg: number): number[] {
	const out = new Array<number>(cartSize(scales, form)).fill(0);
	const scale = scales.of[weighing]!;
	// A ticket is more by what its own scale reads too much.
	if (scale < 0) out[1] = -kg;
	else out[scale === 0 ? 0 : 1 + scale] = kg;
	return out;
}

/** −2 log of the odds of a slip, before any weight: over the hours of a field and the moments at which it may have been. */
export function cartPrice(form: CartForm, hours: number, moments: number): number {
	const odds = {
		none: 1,
		step: Math.min(0.5, hours / CART.change_h) / Math.max(1, moments),
		drift: CART.drifts,
	};
	return -2 * Math.log(odds[form.kind]);
}
