import { MONITOR } from '../model/index.ts';

/** Sizes of the errors, estimated from the scatter of the weights. */
export interface Scatter {
	/** The sensor's slow error, relative standard deviation: the most likely one, and the root mean square over all sizes. */
	sigma: number;
	sigmaMean: number;
	/** The monitor's white error over one fill, relative standard deviation, likewise. */
	white: number;
	whiteMean: number;
	/** Factor on the variance of grain left in the tank. */
	rests: number;
}

/** Prior sizes, before any weight is used. */
export const USUAL_SCATTER: Scatter = {
	sigma: MONITOR.slow,
	sigmaMean: MONITOR.slow,
	white: 0,
	whiteMean: 0,
	rests: 1,
};

const SIGMAS = [0.001, 0.002, 0.003, 0.0045, 0.006, 0.008, 0.011, 0.015, 0.02, 0.03, 0.04, 0.06, 0.08];
const WHITES = [0.001, 0.002, 0.004, 0.008, 0.016, 0.032, 0.064];
const RESTS = [0.5, 1, 2, 4, 8];
/** Prior standard deviation of the size of rests and timing errors, as a factor (common practice). */
const RESTS_SPREAD = 2.5;

/** Degrees of freedom of the prior of the slow error. */
export const PRIOR_DF = 3;

/**
 * Sizes of the slow error and of the rests, from the likelihood of all weights together and their priors. One size for
 * all combines, since a dozen weights per combine cannot show more.
 *
 * @param likelihood - log-likelihood of all weights with errors of these sizes
 * @returns the sizes, and −2 log of likelihood and prior odds with these
 */
export function likeliestSizes(
	likelihood: (size: { sigma: number; rests: number; white: number }) => number,
): Scatter & { cost: number } {
	const odd = (value: number, usual: number, spread: number) => (Math.log(value / usual) / Math.log(spread)) ** 2;
	// One sweep begins where the last one ended.
	const known = new Map<string, number>();
	const cost = (sigma: number, rests: number, white: number) => {
		const key = `${sigma} ${rests} ${white}`;
		const before = known.get(key);
		if (before !== undefined) return before;
		const all =
			-2 * likelihood({ sigma, rests, white }) +
			odd(sigma, MONITOR.slow, MONITOR.slowSpread) +
			odd(rests, 1, RESTS_SPREAD) +
			odd(white, MONITOR.fill, MONITOR.fillSpread);
		known.set(key, all);
		return all;
	};
	const first = swept(SIGMAS, MONITOR.slow, (s) => cost(s, 1, WHITES[1]!));
	const { best: rests } = swept(RESTS, 1, (r) => cost(first.best, r, WHITES[1]!));
	const whites = swept(WHITES, WHITES[1]!, (w) => cost(first.best, rests, w));
	const sigmas = swept(SIGMAS, first.best, (s) => cost(s, rests, whites.best));
	return {
		sigma: sigmas.best,
		sigmaMean: sigmas.mean,
		white: whites.best,
		whiteMean: whites.mean,
		rests,
		cost: cost(sigmas.best, rests, whites.best),
	};
}
/** Sizes with a cost this much above the best have negligible probability. */
const FAR = 16;

/** The size with the least cost, and the root mean square of all by their probability. Costs must be unimodal. */
function swept(list: readonly number[], from: number, cost: (size: number) => number) {
	const costs = new Map<number, number>();
	let low = Infinity;
	const at = (i: number) => {
		const c = cost(list[i]!);
		costs.set(i, c);
		low = Math.min(low, c);
		return c;
	};
	const start = list.reduce(
		(best, v, i) => (Math.abs(Math.log(v / from)) < Math.abs(Math.log(list[best]! / from)) ? i : best),
		0,
	);
	at(start);
	for (const way of [1, -1])
		for (let i = start + way; i >= 0 && i < list.length; i += way) if (at(i) > low + FAR) break;
	let all = 0;
	let squares = 0;
	let best = list[start]!;
	for (const [i, c] of costs) {
		// Grid steps differ in width on the logarithmic scale, so weight each by its width.
		const width = Math.log(list[Math.min(i + 1, list.length - 1)]! / list[Math.max(i - 1, 0)]!);
		const odds = width * Math.exp((low - c) / 2);
		all += odds;
		squares += odds * list[i]! ** 2;
		if (c === low) best = list[i]!;
	}
	return { best, mean: Math.sqrt(squares / all) };
}
