import { likeliestSizes, type Scatter, USUAL_SCATTER } from '../../tank/index.ts';
import type { Chain } from './chain.ts';
import { likelihood, type Play } from './play.ts';

/** Estimates the sizes of the slow error, of grain left in tanks and of the white error, by the likelihood of all weights together. */
export function scatterOf(chain: Chain, play: Play): Scatter & { cost: number } {
	if (chain.order.length === 0) return { ...USUAL_SCATTER, cost: 0 };
	return likeliestSizes((size) => likelihood(chain, { ...play, ...size }));
}
