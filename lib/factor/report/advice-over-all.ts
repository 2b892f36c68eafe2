import type { Factors } from '../../model/index.ts';
import { calibrationAdvice } from './advice.ts';

/**
 * Advice and budget of factors that more than one explanation of the weights went into: what the best one alone advised
 * would state a factor and an interval that no longer stand.
 *
 * @param best - the factors by the best explanation
 * @param all - the same, mixed with the others
 */
export function adviceOverAll(best: Factors, all: Factors, names: readonly string[]): Factors {
	if (all === best) return all;
	const factors = all.factors.map((f, c) => {
		const own = best.factors[c]!;
		if (f === own || f.source === null || f.source === 'pinned') return f;
		const known = own.budget.map((line) => ({ ...line }));
		const between = Math.sqrt(Math.max(0, f.u_rel ** 2 - own.u_rel ** 2));
		known.push({
			name: 'more than one explanation of the weights',
			u_rel: between,
			share: 0,
			advice: 'see the cautions for what would decide between them',
		});
		const total = known.reduce((sum, line) => sum + line.u_rel ** 2, 0);
		const budget = known.map((line) => ({ ...line, share: line.u_rel ** 2 / total })).sort((a, b) => b.share - a.share);
		const advice = [
			'Decide first: the weights fit in more than one way (see the cautions), and the interval covers each.',
			calibrationAdvice(names[c]!, f),
			...own.advice.slice(-1),
		];
		return { ...f, budget, moreDumps: Number.NaN, advice };
	});
	return { ...all, factors };
}
