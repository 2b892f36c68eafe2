import { CART, MONITOR } from '../model/index.ts';

const OF = { monitor: MONITOR, cart: CART };

/** −2 log of the prior odds that a monitor's factor or a cart's scale changed once in so many hours, at one of so many moments. */
export function stepPrice(of: 'monitor' | 'cart', hours: number, moments: number): number {
	return -2 * Math.log(Math.min(0.5, hours / OF[of].change_h) / Math.max(1, moments));
}

/** The same of a drift throughout. */
export function driftPrice(of: 'monitor' | 'cart'): number {
	return -2 * Math.log(OF[of].drifts);
}
