import { gls } from '../stats/index.ts';
import { type Extra, errorCovariance, type Scatter } from './solve.ts';
import type { System } from './system.ts';

/**
 * A monitor errs slowly by about a per cent (method.md, section 3): where a dozen weights can hardly tell how much,
 * this is what is expected of it, within a factor of two (one standard deviation).
 */
const USUAL_SIGMA = 0.008;
const USUAL_SPREAD = Math.log(2);

/** Degrees of freedom which that expectation is worth. */
export const PRIOR_DF = 3;

const SIGMAS = [0.001, 0.002, 0.003, 0.004, 0.006, 0.008, 0.01, 0.013, 0.017, 0.022, 0.03, 0.04, 0.06, 0.08];
const RESTS = [0.5, 1, 2, 4, 8];

/**
 * How large the slow error and the rests are, by restricted likelihood of all weights together, weighed against what
 * is usual. One size serves all combines: a dozen weights a combine tell no more.
 */
export function estimateScatter(system: System, slow: Float64Array, extras: readonly Extra[]): Scatter {
	let best = { sigma: USUAL_SIGMA, rests: 1 };
	let least = Number.POSITIVE_INFINITY;
	const hasRests = system.rest.some((v) => v !== 0);
	const rows = [...system.A, ...extras.map((e) => e.row)];
	const y = Float64Array.from([...system.y, ...extras.map((e) => e.y)]);
	for (const sigma of SIGMAS) {
		for (const rests of hasRests ? RESTS : [1]) {
			const scatter = { sigma, rests };
			const { deviance } = gls(rows, y, errorCovariance(system, slow, scatter, extras, 0));
			const cost =
				deviance + (Math.log(sigma / USUAL_SIGMA) / USUAL_SPREAD) ** 2 + (Math.log(rests) / Math.log(2.5)) ** 2;
			if (cost < least) {
				least = cost;
				best = scatter;
			}
		}
	}
	return best;
}
