import { likeliestSizes, type Scatter, USUAL_SCATTER } from '../../tank/index.ts';
import type { Chain } from './chain.ts';
import { likelihood, type Play } from './play.ts';

/** How large the slow error, the rests and the white error are, by the likelihood of all weights of a chain together. */
export function scatterOf(chain: Chain, play: Play): Scatter {
	if (chain.order.length === 0) return USUAL_SCATTER;
	return likeliestSizes((size) => likelihood(chain, { ...play, ...size }));
}
