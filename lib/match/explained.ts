import { afresh, type Keep, MONITOR } from '../model/index.ts';
import { type BestHypothesis, bestAtOffset } from './best-at-offset.ts';
import { offsetCost } from './clock/find-clock.ts';
import { clockAt, type Offset, setClock } from './clock/offset.ts';
import { COSTS } from './problem/costs.ts';
import type { MatchInput } from './problem/input.ts';
import type { Excluded } from './problem/observations.ts';
import { prepare } from './problem/prepare.ts';
import { loadsPrice, type Problem, priceWeighed, weighedShare } from './problem/problem.ts';
import type { Supposition } from './suppose/supposition.ts';

/** Fewest weights without a note for a habit of weighing whole cart loads. */
const ENOUGH = 2;

/** Largest mean cost of a dump in a field without errors, nats: it is 4 to 9, and about 15 where weights are wrong. */
export const STRAIN = 9.5;

/** An explanation of the whole field: one supposition, one clock offset, and the cheapest hypothesis under both. */
export interface Explained {
	/** Input under the supposition. */
	input: MatchInput;
	/** null = everything as written. */
	supposed: Supposition | null;
	problem: Problem;
	excluded: Excluded[];
	offset: Offset;
	solved: BestHypothesis;
	/** −ln of likelihood and prior odds, nats. */
	cost: number;
	notes: string[];
	cautions: string[];
}

/**
 * Explains the field under a supposition: every clock offset that fits nearly as well as the best, each with its cheapest
 * hypothesis. Where hardly any weight is noted with its combine, it also tries all weights as whole cart loads:
 * among single tanks the search explains each mixed weight by something cheaper.
 *
 * @returns explanations, cheapest first
 */
export function explain(
	input: MatchInput,
	supposed: Supposition | null,
	report: (share: number) => void,
	keep: Keep = afresh,
): Explained[] {
	const { problem, excluded, remarks } = prepare(input, undefined, keep);
	const loads = asWholeLoads(problem);
	const searched = searchedIn(input);
	const at = (s: Problem, notes: string[], part: (share: number) => void): Explained[] => {
		const cautions = [...remarks];
		const kept = <T>(name: string, make: () => T) => keep(s === loads ? `${name}, whole loads` : name, searched, make);
		const { main, others } = supposed?.clock
			? { main: supposed.clock, others: [] }
			: setClock(s, input.plan, cautions, part, kept);
		return [main, ...others.map((offset_s) => clockAt(main, offset_s))].map((offset) => {
			const solved = bestAtOffset(s, input.records, offset.at_s, offset.clock.u_s);
			const own = Number.isFinite(offset.clock.offset_s) ? offsetCost(offset.at_s) : 0;
			const { factor, u_factor } = solved;
			const weighed = priceWeighed(s.observations.length, weighedShare(s, factor, u_factor));
			// The search follows an unlikely factor step by step, by grain left in tanks, and sees too little of how unlikely it is.
			const unlikely = factor.reduce((sum, k) => sum + ((k - 1) / MONITOR.factor) ** 2 / 2, 0);
			const cost = solved.hypothesis.cost + weighed + unlikely + own + loadsPrice(s) + (supposed?.price ?? 0);
			return {
				input,
				supposed,
				problem: s,
				excluded,
				offset,
				solved,
				cost,
				notes: [...notes],
				cautions: [...cautions],
			};
		});
	};
	const all = at(problem, [], (share) => report(loads ? share / 2 : share));
	if (loads && all[0]!.cost > STRAIN * problem.observations.length) {
		const note =
			'The weights fit the logs only as whole cart loads, each with the grain of several combines: note the combines with such weights.';
		all.push(...at(loads, [note], (share) => report((1 + share) / 2)));
	}
	return all.sort((a, b) => a.cost - b.cost);
}

/** All that a search for the clock's offset reads. */
function searchedIn({ records, account, track, book, plan, reference, seams }: MatchInput): unknown[] {
	const { clock_offset_s: _, ...pins } = plan.pins;
	return [records, account, track, book, { ...plan, pins }, reference, seams];
}

/**
 * The same problem with all weights as whole cart loads. null where that is known already, where there is one combine only, and
 * where most weights are noted with a combine, since both would have been noted.
 */
function asWholeLoads(problem: Problem): Problem | null {
	if (problem.wholeLoads || problem.flows.length < 2) return null;
	const unnoted = problem.observations.filter((s) => !s.noted).length;
	if (unnoted < ENOUGH || unnoted < 0.9 * problem.observations.length) return null;
	// A copy, since `setClock` shifts the observations' times where the clock was reset.
	const observations = problem.observations.map((s) => ({ ...s }));
	return { ...problem, observations, wholeLoads: true, mixedCost: COSTS.mixedLoad };
}
