import type { Factor } from '../../model/index.ts';
import { calibrationAdvice } from './advice.ts';

/**
 * A factor that more than one explanation of the weights went into, with advice and budget: what the best one alone advised
 * would state a factor and an interval that no longer stand.
 *
 * @param own - the factor by the best explanation
 * @param mixed - the same, mixed with the others
 */
export function adviceOverAll(own: Factor, mixed: Factor, name: string): Factor {
	if (mixed.source === 'pinned') return mixed;
	const lines = [
		...own.budget,
		{
			name: 'more than one explanation of the weights',
			u_rel: Math.sqrt(Math.max(0, mixed.u_rel ** 2 - own.u_rel ** 2)),
			share: 0,
			advice: 'see the cautions for what would decide between them',
		},
	];
	const total = lines.reduce((sum, line) => sum + line.u_rel ** 2, 0);
	const budget = lines.map((line) => ({ ...line, share: line.u_rel ** 2 / total })).sort((a, b) => b.share - a.share);
	const advice = [
		'Decide first: the weights fit in more than one way (see the cautions), and the interval covers each.',
		calibrationAdvice(name, mixed),
		...own.advice.slice(-1),
	];
	return { ...mixed, budget, moreDumps: Number.NaN, advice };
}
