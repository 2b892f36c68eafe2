import { MONITOR } from '../../model/index.ts';
import { bestAtOffset } from '../best-at-offset.ts';
import type { Explained } from '../explained.ts';
import type { Priors, Problem } from '../problem/problem.ts';

/** Fewest dumps without a name, a time and a signal of the auger. */
const ENOUGH = 2;
/** Ratios this far apart are held, each with this uncertainty, natural logarithm. */
const STEP = 0.02;
const HELD = 0.01;
/** Standard deviations of what was known before to either side. */
const FAR = 2;

/** A ratio of two factors, natural logarithm, and −ln of its probability together with the weights. */
interface Tried {
	log: number;
	cost: number;
}

/**
 * Where only weights tell which combine dumps are from, assignments fit for many ratios of two combines' factors, and a
 * search that keeps the cheapest hypotheses holds on to those near one ratio. So other ratios are held one by one, each with
 * its share of what was known before any weight. Three explanations, at the mean of the ratio and √3 standard deviations
 * to either side, with weights 1/6, 2/3, 1/6, stand for all of them (Gauss–Hermite quadrature).
 *
 * @returns explanations in place of `e`; `e` itself where names, times or an auger tell more than weights do
 */
export function overRatios(e: Explained): Explained[] {
	const { problem, solved, offset, input } = e;
	const C = problem.flows.length;
	if (C < 2 || !onlyWeightsTell(problem)) return [e];
	const list: Explained[] = [];
	for (let a = 0; a < C; a++) {
		for (let b = a + 1; b < C; b++) {
			const before = knownBefore(problem.priors, a, b);
			const at = (log: number): Explained => {
				const priors = { ...problem.priors, ratios: [{ a, b, ratio: Math.exp(log), u: HELD }] };
				const held = { ...problem, priors };
				const here = bestAtOffset(held, input.records, offset.at_s, offset.clock.u_s);
				const density = Math.log(before.u * Math.sqrt(2 * Math.PI)) + ((log - before.log) / before.u) ** 2 / 2;
				const cost = e.cost - solved.hypothesis.cost + here.hypothesis.cost + density;
				return { ...e, problem: held, solved: here, cost };
			};
			const n = Math.ceil((FAR * before.u) / STEP);
			const tried = Array.from({ length: 2 * n + 1 }, (_, k) => {
				const log = before.log + (k - n) * STEP;
				return { log, cost: at(log).cost - Math.log(STEP) };
			});
			const { mean, sd, cost } = summary(tried);
			for (const [side, weight] of [
				[-1, 1 / 6],
				[0, 2 / 3],
				[1, 1 / 6],
			] as const)
				list.push({ ...at(mean + side * Math.sqrt(3) * sd), cost: cost - Math.log(weight) });
		}
	}
	return list;
}

function onlyWeightsTell({ observations, runs }: Problem): boolean {
	const bare = observations.filter((s) => !s.noted && !Number.isFinite(s.time_s));
	return bare.length >= ENOUGH && runs.some((r) => r === null);
}

/** Mean and standard deviation of the ratio, and the cost of all together. */
function summary(tried: readonly Tried[]): { mean: number; sd: number; cost: number } {
	const least = Math.min(...tried.map((t) => t.cost));
	const sum = (of: (t: Tried) => number) => tried.reduce((s, t) => s + Math.exp(least - t.cost) * of(t), 0);
	const all = sum(() => 1);
	const mean = sum((t) => t.log) / all;
	return { mean, sd: Math.sqrt(sum((t) => (t.log - mean) ** 2) / all), cost: least - Math.log(all) };
}

/** What is known of the logarithm of factor b / factor a before any weight: from their seams and from how monitors are. */
function knownBefore({ ratios }: Priors, a: number, b: number): { log: number; u: number } {
	let weight = 1 / (2 * MONITOR.factor ** 2);
	let sum = 0;
	for (const r of ratios) {
		if (r.a !== a || r.b !== b) continue;
		weight += 1 / r.u ** 2;
		sum += Math.log(r.ratio) / r.u ** 2;
	}
	return { log: sum / weight, u: 1 / Math.sqrt(weight) };
}
