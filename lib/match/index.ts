import { afresh, type Keep, type Match, type Progress, silent } from '../model/index.ts';
import { type Explained, explain } from './explained.ts';
import { matchTickets } from './outcome/match-tickets.ts';
import { otherHypotheses } from './outcome/other-hypotheses.ts';
import { otherWay } from './outcome/other-way.ts';
import { matchOf } from './outcome/outcome.ts';
import { clockOver, openCautions, remaining } from './outcome/rivals.ts';
import type { MatchInput } from './problem/input.ts';
import { prepare } from './problem/prepare.ts';
import { lastingChange } from './suppose/lastingchange.ts';
import { newestFirst } from './suppose/other-order.ts';
import { overRatios } from './suppose/ratios.ts';
import { saturated } from './suppose/saturated.ts';
import { shortThroughout } from './suppose/short-throughout.ts';
import { strained, suppositions } from './suppose/suppose.ts';
import { both, type Supposition } from './suppose/supposition.ts';

export type { MatchInput } from './problem/input.ts';
export { inGivenUnits, restatedBy } from './suppose/given.ts';

/**
 * Matches the load book with the logs: which weight belongs to which part of which combine's log. Estimated together: the cart
 * clock's offset, the combine of each dump, unloadings without a weight, weights saved twice, grain left in tanks or present
 * at the start, and the factors.
 *
 * A single error that affects all weights or a whole log (units, exchanged names, a clock) is a supposition with its own prior
 * cost, tried where the field as written fits badly. Where several explanations remain, the match has all of them with their
 * probabilities.
 */
export function matchField(input: MatchInput, progress: Progress = silent, keep: Keep = afresh): Match {
	progress.step('match', 0);
	if (input.book.dumps.length === 0 && input.book.tickets.length > 0)
		return matchTickets(input, prepare(input).problem);
	const plain = explain(input, null, (share) => progress.step('match', 0.6 * share), keep).flatMap(overRatios);
	const all = plain.sort(cheapest).slice();
	const [first] = plain as [Explained];
	const suppose = (list: readonly Supposition[]) => {
		for (const s of list)
			for (const e of explain(s.input, s, () => {})) all.push({ ...e, cost: Math.max(e.cost, s.least ?? e.cost) });
		all.sort(cheapest);
	};
	suppose([
		...plain.flatMap(lastingChange),
		...shortThroughout(first),
		...newestFirst(first),
		...saturated(first),
		...(strained(first) ? suppositions(first) : []),
	]);
	// Where one error explains much, a second may explain the rest.
	const one = all.find((e) => e.supposed?.caution);
	if (one && one.cost < first.cost && strained(one)) suppose(suppositions(one).map((s) => both(one.supposed!, s)));
	if (all[0]!.supposed) all.splice(0, 1, ...overRatios(all[0]!));
	all.sort(cheapest);
	progress.step('match', 0.8);
	const [best, ...others] = remaining(all).flatMap(({ explained, weight }, i) =>
		i > 0
			? { weight, explained }
			: otherHypotheses(explained).map((o) => ({ weight: weight * o.share, explained: o.explained })),
	);
	const match = matchOf(best!.explained, input);
	if (others.length > 0) {
		match.alternatives = others.map(({ weight, explained }) => ({ weight, match: matchOf(explained, input) }));
		match.clock = clockOver(match.clock, match.alternatives);
		const named = others.map((o, i) => ({
			...o,
			way: otherWay(match, match.alternatives![i]!.match, input.book, input.records),
		}));
		match.cautions.unshift(...openCautions(best!.explained, named));
	}
	progress.step('match', 1);
	return match;
}

const cheapest = (a: Explained, b: Explained): number => a.cost - b.cost;
