import type { Match, Progress } from '../model/index.ts';
import { silent } from '../model/index.ts';
import { type Explained, explain, settle } from './explained.ts';
import { clockOver, rivals, twoFit } from './outcome/alternatives.ts';
import { matchOf } from './outcome/outcome.ts';
import { matchTickets } from './outcome/tickets.ts';
import type { MatchInput } from './problem/input.ts';
import { prepare } from './problem/prepare.ts';
import { strained, suppositions } from './suppose/suppose.ts';

export type { MatchInput } from './problem/input.ts';
export { inGivenUnits } from './suppose/given.ts';

/**
 * Aligns the load book with the logs: which weight is which stretch of which combine's work. Solved together: the
 * cart clock's offset, the combine of each dump, unloadings nobody weighed or saved, weights saved twice, tanks that
 * keep a rest or come with grain, and the factors, which start wide and narrow from round to round.
 *
 * What one slip changes for all weights or a whole log at once (units, names exchanged, a clock) is a supposition of
 * its own, at one price, tried where the plain explanation is strained. Where two explanations remain, the match carries
 * both with their weights.
 */
export function matchField(input: MatchInput, progress: Progress = silent): Match {
	progress.step('match', 0);
	if (input.book.dumps.length === 0 && input.book.tickets.length > 0)
		return matchTickets(input, prepare(input).problem);
	const plain = explain(input, null, (share) => progress.step('match', 0.6 * share));
	const all: Explained[] = [...plain];
	if (strained(plain)) {
		for (const s of suppositions(plain[0] as Explained)) all.push(...explain(s.input, s, () => {}));
	}
	all.sort((a, b) => a.cost - b.cost);
	progress.step('match', 0.8);
	const best = settle(all[0] as Explained);
	progress.step('match', 0.9);
	const match = matchOf(best, input);
	const others = rivals(all[0] as Explained, all.slice(1)).map(({ explained, weight }) => ({
		weight,
		explained: settle(explained),
	}));
	if (others.length > 0) {
		match.alternatives = others.map(({ weight, explained }) => ({ weight, match: matchOf(explained, input) }));
		match.clock = clockOver(match.clock, match.alternatives);
		match.cautions.unshift(...twoFit(best, others));
	}
	progress.step('match', 1);
	return match;
}
