import type { Problem } from '../problem/problem.ts';
import type { Run } from '../problem/signals.ts';

/** Largest difference of a truck's unloadings from its ticket, relative, where the right ones were assigned to it. */
const SHARP = 0.035;

/**
 * Assigns runs of the auger to tickets. For one combine: the division that fits the weights best (dynamic programming); for
 * several: by the times at which the sum was reached. null where some ticket would have no run.
 *
 * @param k - rough factor of combine c
 * @param sums - cumulative ticket weights, kg; null for several combines
 * @param moments - times at which the cumulative weights were reached
 * @returns the runs of each ticket; `sharp` where each ticket's runs have its weight
 */
export function joinRuns(
	problem: Problem,
	c: number,
	k: number,
	sums: readonly number[] | null,
	moments: readonly number[],
): { groups: Run[][]; sharp: boolean } | null {
	const runs = problem.runs[c]!.list.filter((r) => r.end_s - r.start_s >= 20);
	if (runs.length < moments.length) return null;
	const cuts = sums
		? bestCuts(
				runs.map((r) => r.endMass_kg * k),
				sums,
			)
		: null;
	const groups: Run[][] = [];
	let from = 0;
	moments.forEach((moment, j) => {
		let to = cuts ? cuts[j]! + 1 : runs.findIndex((r) => r.end_s > moment);
		if (j === moments.length - 1 || to < 0) to = runs.length;
		to = Math.max(from, to);
		groups.push(runs.slice(from, to));
		from = to;
	});
	if (groups.some((g) => g.length === 0)) return null;
	let sharp = cuts !== null;
	if (cuts && sums) {
		for (let j = 0; j + 1 < sums.length; j++) {
			const before = j > 0 ? runs[cuts[j - 1]!]!.endMass_kg : 0;
			const has = (runs[cuts[j]!]!.endMass_kg - before) * k;
			const should = sums[j]! - (j > 0 ? sums[j - 1]! : 0);
			if (Math.abs(has / should - 1) > SHARP) sharp = false;
		}
	}
	return { groups, sharp };
}

/** For every sum but the last, the index of the level at which to divide, by least squares. */
function bestCuts(levels: readonly number[], sums: readonly number[]): number[] {
	const n = levels.length;
	const m = sums.length;
	const cost = Array.from({ length: m }, () => new Float64Array(n).fill(Number.POSITIVE_INFINITY));
	const back = Array.from({ length: m }, () => new Int32Array(n).fill(-1));
	const weight = (j: number): number => sums[j]! - (j > 0 ? sums[j - 1]! : 0);
	for (let j = 0; j < m; j++) {
		for (let i = j; i < n; i++) {
			if (j === 0) cost[0]![i] = (levels[i]! - weight(0)) ** 2;
			for (let h = j - 1; j > 0 && h < i; h++) {
				const c = cost[j - 1]![h]! + (levels[i]! - levels[h]! - weight(j)) ** 2;
				if (c < cost[j]![i]!) {
					cost[j]![i] = c;
					back[j]![i] = h;
				}
			}
		}
	}
	const cuts = new Array<number>(m).fill(n - 1);
	for (let j = m - 1; j > 0; j--) cuts[j - 1] = back[j]![cuts[j]!]!;
	return cuts;
}
