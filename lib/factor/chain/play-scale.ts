import { CART } from '../../model/index.ts';
import type { Belief, Layout } from '../../tank/index.ts';
import { CART_KEY, type CartForm, CERTIFIED_U, cartPlaces } from './cart-form.ts';
import type { Chain } from './chain.ts';

/**
 * Models the cart's scales along a chain: the main one wanders, and may step or drift. Truckloads check it when they happen,
 * so its uncertainty grows with the time to the nearest one.
 *
 * @param final - this run gives the estimates: truckloads together have the reference's own ratio and uncertainty
 */
export function playScale(chain: Chain, form: CartForm, final: boolean, at: Layout, b: Belief) {
	const { scales } = chain;
	const { main, certified, others, slip } = cartPlaces(at, scales);
	const checked = scales.loads.some((l) => l.used);
	const size = { none: 0, step: CART.change, drift: CART.drift, two: CART.change }[form.kind];
	const two = form.kind === 'two';
	const last = form.right === 'last' && !checked;
	const u = checked ? Math.hypot(CART.unchecked_rel, scales.asWritten) : Math.hypot(scales.u_ratio, last ? size : 0);
	b.set(main, 0, u ** 2, 'cart');
	b.set(certified, 0, CERTIFIED_U ** 2, 'cart');
	scales.others.forEach((s, i) => {
		b.set(others[i]!, s.mean, (two && last ? scales.u_ratio : s.u) ** 2, 'scale');
	});
	if (slip >= 0) b.set(slip, 0, CART.drift ** 2, 'cart');
	const exact = final && (two || form.kind === 'none');
	return {
		main,
		goesOn(index: number, since_s: number) {
			b.mark(main, CART_KEY + index, true);
			if (form.at === index) b.mix(main, 1, [], [], 0, CART.change ** 2, 'cart');
			if (form.kind === 'drift' && chain.span_s > 0) b.mix(main, 1, [slip], [since_s / chain.span_s]);
			const hours = since_s / 3600;
			if (checked && hours > 0) b.mix(main, 1, [], [], 0, CART.wander_rel ** 2 * (hours / CART.wander_h), 'cart');
		},
		check(load: number): number {
			const { rel, offload_rel, u, used, shares } = scales.loads[load]!;
			const from = [main, ...others, certified];
			const by = [...shares, 1];
			if (exact) return used ? b.observe(from, by, rel, u ** 2, 'cart') : 0;
			// A load that fits badly is taken as an outlier: it costs its prior odds and changes nothing.
			const variance = CART.repeat_rel ** 2;
			const odd = -Math.log(CART.oddLoad * 2 * CART.oddLoad_rel);
			if (b.density(from, by, offload_rel, variance) < odd) return odd;
			return b.observe(from, by, offload_rel, variance, 'cart');
		},
		end() {
			if (last && !two) b.observe([main], [1], 0, scales.u_ratio ** 2, 'cart');
		},
	};
}
