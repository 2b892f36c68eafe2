import { MONITOR } from '../model/index.ts';

/**
 * Prior of a factor, as its weights show it on the cart's scale: about 1, as calibrations scatter; none about a rough one that
 * no monitor would have.
 */
export function priorFactor(rough: number): { mean: number; u: number } {
	const [low, high] = MONITOR.plausible;
	return rough > low && rough < high ? { mean: 1, u: MONITOR.factor } : { mean: rough, u: rough };
}
