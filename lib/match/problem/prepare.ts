import { afresh, type Keep, MONITOR, SEAM, type SeamJump, TANK } from '../../model/index.ts';
import { quantile } from '../../stats/index.ts';
import { someOf } from '../../units/index.ts';
import { runsOf } from './auger-runs.ts';
import { COSTS } from './costs.ts';
import { deductions, rightWeights } from './deduced.ts';
import type { MatchInput } from './input.ts';
import { type Flowing, flowing } from './mass.ts';
import { type Excluded, type Observation, readObservations } from './observations.ts';
import { firstPriors, isTimed, type Problem, places, priceUnweighed, weighedShare } from './problem.ts';

/** The column with the dumps' weights. */
export const weightColumn = (plan: MatchInput['plan']): string => plan.cartLog?.columns?.weight?.column ?? 'weight_kg';

/** Size of a dump where there are none, kg. */
const TANK_KG = 9000;
/** Where more than this share of the weights exceeds every tank, weights are of whole cart loads. */
const SOME = 0.25;
/** Shorter seams are not used for a ratio of factors, meters. */
const SEAM_M = 200;

/**
 * Prepares the problem of the match from its input.
 *
 * @param known - the same field prepared with other weights or notes; equal parts are taken from it
 * @param keep - what the logs show without a weight
 */
export function prepare(
	input: MatchInput,
	known?: { input: MatchInput; problem: Problem },
	keep: Keep = afresh,
): { problem: Problem; excluded: Excluded[]; remarks: string[] } {
	const { records, account, book, plan, reference, seams } = input;
	const same = known?.input.records === records && known.input.account === account ? known.problem : null;
	const logs = same ?? keep('logs', [records, account], () => logsOf(input));
	const { flows } = logs;
	const { observations, excluded, remarks } = readObservations(input);
	const single = observations.filter((s) => s.mixed.length === 0).map((s) => s.kg);
	const heaviest = heaviestDump(observations);
	const tank_kg = records.combines.map((name) => plan.combines[name]?.tank_kg ?? 1.1 * heaviest);
	const usualFlow_kg_s = flows.map(usualFlow);
	// A weight that exceeds every tank is of several unloadings; where that is common, weights are of whole cart loads.
	const most = Math.max(...tank_kg.map((kg, c) => mostOnTheGo(kg, usualFlow_kg_s[c]!)));
	const deduced = deductions(book, records, reference, most);
	for (const s of observations) s.right = rightWeights(deduced, s);
	const over = observations.filter((s) => s.kg > most);
	const wholeLoads = over.length > SOME * observations.length;
	const unnoted = over.filter((s) => s.mixed.length === 0).map((s) => book.dumps[s.dump]!.id);
	if (wholeLoads && unnoted.length > 0) {
		remarks.push(
			`${unnoted.length === 1 ? 'Dump' : 'Dumps'} ${someOf(unnoted)} weighed more than a tank holds: read as several tank loads in one weight. If it is one, check tank_kg and the unit of column ${weightColumn(plan)}.`,
		);
	}
	const problem: Problem = {
		flows,
		runs: logs.runs,
		observations,
		deduced,
		tank_kg,
		usualFlow_kg_s,
		fill_kg: Math.min(usualFill(single, heaviest), ...tank_kg.map((t) => 0.85 * t)),
		mixedCost: wholeLoads ? COSTS.mixedLoad : COSTS.mixed,
		wholeLoads,
		incomplete: input.incomplete === true,
		hasOffloads: book.offloads.length > 0,
		places: same ? same.places : places(records, observations),
		after_s: null,
		endsEarly: false,
		priors: firstPriors(flows.length),
	};
	problem.priors.ratios = seamRatios(seams);
	bySums(problem);
	const { factor, u_factor } = problem.priors;
	Object.assign(problem.priors, priceUnweighed(weighedShare(problem, factor, u_factor)));
	return { problem, excluded, remarks };
}

/** What the logs show without a weight. */
function logsOf({ records, account }: MatchInput): Pick<Problem, 'flows' | 'runs'> {
	const flows = records.combines.map((_, c) => flowing(records, account, c));
	return { flows, runs: flows.map((f) => runsOf(records, f)) };
}

/**
 * Sets the prior of the factors to the ratio of sums, all that was weighed over all that was cut, where neither times nor an
 * auger signal show when a tank was emptied.
 */
function bySums(problem: Problem): void {
	const { observations, flows, runs, priors } = problem;
	if (observations.length === 0 || isTimed(problem) || runs.some((r) => r !== null)) return;
	const weighed = flows.map(() => 0);
	let all = 0;
	for (const s of observations) {
		all += s.kg;
		if (s.noted && s.mixed.length === 0) weighed[s.combines[0]!]! += s.kg;
	}
	const apart = observations.every((s) => s.noted && s.mixed.length === 0);
	const cut = flows.reduce((sum, f) => sum + f.total_kg, 0);
	flows.forEach((f, c) => {
		const k = apart ? weighed[c]! / f.total_kg : all / cut;
		if (!(k > 0.75 && k < 1.33)) return;
		priors.factor[c] = k;
		priors.u_factor[c] = apart ? 0.015 : 0.05;
	});
}

/** Mean flow while the combine moves. */
function usualFlow({ total_kg, start_s, end_s, stood_s }: Flowing): number {
	return total_kg / Math.max(60, end_s - start_s - stood_s.at(-1)!);
}

/** The most that one unloading weighs: a heaped tank, and what comes in until it is empty. */
function mostOnTheGo(tank_kg: number, flow_kg_s: number): number {
	return (TANK.heaped * tank_kg) / (1 - Math.min(0.5, flow_kg_s / TANK.unloading_kg_s));
}

function heaviestDump(observations: readonly Observation[]): number {
	const kg = observations.map((s) => (s.mixed.length > 0 ? s.kg / s.mixed.length : s.kg)).sort((a, b) => a - b);
	return kg.length > 0 ? quantile(kg, 0.95) : TANK_KG;
}

function usualFill(kg: number[], heaviest: number): number {
	const sorted = [...kg].sort((a, b) => a - b);
	return sorted.length > 2 ? quantile(sorted, 0.5) : 0.8 * heaviest;
}

/** Two monitors differ by less, as a log ratio: seams that say more may be of a header's width. */
const APART = 3 * Math.SQRT2 * MONITOR.factor;

/** Ratios of factors from seams, before any weight: factor b / factor a = yield by monitor a / yield by monitor b. */
function seamRatios(seams: readonly SeamJump[]): Problem['priors']['ratios'] {
	return seams
		.filter((s) => s.length_m >= SEAM_M && Number.isFinite(s.log_jump) && s.u_log > 0 && s.u_log < 0.1)
		.map((s) => ({
			a: s.combineA,
			b: s.combineB,
			ratio: Math.exp(s.log_jump),
			u: Math.hypot(2 * s.u_log, SEAM.match, Math.max(0, Math.abs(s.log_jump) - APART)),
		}));
}
