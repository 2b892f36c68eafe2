import { MONITOR } from '../../model/index.ts';
import type { Hypothesis } from '../beam/hypothesis.ts';
import { solvedBy } from '../best-at-offset.ts';
import type { Explained } from '../explained.ts';

/** Hypotheses with less than this share of the best one's likelihood are not followed, and all but this many beside it. */
const LEAST = 0.03;
const MOST = 3;

/** Hypotheses whose factors agree, and their likelihoods together. */
interface Group {
	first: Hypothesis;
	likelihood: number;
}

/**
 * An explanation, and beside it other hypotheses of the same search under which a factor is another, with their shares of its
 * probability. Hypotheses whose factors agree count together.
 */
export function otherHypotheses(explained: Explained): { explained: Explained; share: number }[] {
	const { input, offset, problem, solved } = explained;
	const { all } = solved;
	const own: Group = { first: solved.hypothesis, likelihood: 0 };
	const groups = [own];
	for (const hypothesis of all) {
		const likelihood = Math.exp(all[0]!.cost - hypothesis.cost);
		const group = groups.find((g) => agree(g.first, hypothesis));
		if (group) group.likelihood += likelihood;
		else if (likelihood > LEAST && groups.length <= MOST) groups.push({ first: hypothesis, likelihood });
	}
	const sum = groups.reduce((total, g) => total + g.likelihood, 0);
	return groups.map((g) => ({
		explained:
			g === own ? explained : { ...explained, solved: solvedBy(problem, input.records, all, g.first, offset.at_s) },
		share: g.likelihood / sum,
	}));
}

/** Whether two hypotheses have the same factors, within their uncertainty and what a monitor is off from tank to tank. */
function agree({ belief: a }: Hypothesis, { belief: b }: Hypothesis): boolean {
	for (let c = 0, n = a.n; c < n / 2; c++) {
		const variance = a.P[c * n + c]! + b.P[c * n + c]! + (MONITOR.fill * a.x[c]!) ** 2;
		if ((a.x[c]! - b.x[c]!) ** 2 > variance) return false;
	}
	return true;
}
