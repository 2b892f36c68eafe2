import { appliedFactor, MONITOR, type SeamJump, unrecordedShares } from '../model/index.ts';
import { priorFactor, type Scatter, USUAL_SCATTER } from '../tank/index.ts';
import { scalesOf } from './chain/cart-form.ts';
import { type Chain, chainOf } from './chain/chain.ts';
import { type Play, type Relation, type Rests, restsOf, usual } from './chain/play.ts';
import { type Timeline, timeline } from './chain/timeline.ts';
import { isUsable, notedRests } from './chain/weights.ts';
import { type Coverage, coverageOf } from './coverage.ts';
import { type Flows, flowsOf } from './flows.ts';
import { CONSTANT, type Shape } from './form/shape.ts';
import type { FactorInput } from './input.ts';
import { helpfulJumps, meanOf, seamRelations } from './seamrelations.ts';

/** What is to be solved: all that holds under every hypothesis. Lists are by combine. */
export interface Premises {
	input: FactorInput;
	/** Factors set by hand, by combine. */
	pinned: ReadonlyMap<number, number>;
	/** Forms set by hand. */
	forms: readonly (Shape['form'] | undefined)[];
	/** Noted moments at which the factor may change, seconds. */
	events: readonly (readonly number[])[];
	flows: Flows;
	time: Timeline;
	/** Weighings that the match uses. */
	use: readonly number[];
	/** Factors by the match. */
	rough: number[];
	/** Grain left in tanks before any weight is used, and the unloadings after which the load book has some. */
	rest: Rests;
	noted: ReadonlySet<number>;
	/** All weights that the match uses. */
	chain: Chain;
	/** Share of the grain that came through while the log held nothing. */
	unrecorded: readonly number[];
	coverage: Coverage;
	/** Jumps at seams that tell factors apart better than the weights do. */
	jumps: readonly SeamJump[];
}

/** Events after which a factor may be another. */
const EVENTS: readonly string[] = ['calibrated', 'header', 'variety'];

/** Cuts the logs into fills and gathers what the match, the load book and the seams say of them. */
export function premisesOf(input: FactorInput, pinned: ReadonlyMap<number, number>): Premises {
	const { records, account, match, reference, plan, book, jumps } = input;
	const flows = input.flows ?? flowsOf(input);
	const { orders, flow } = flows;
	const events = plan.events.filter((e) => EVENTS.includes(e.kind));
	const time = timeline({ records, account, match, orders, flow, events: events.map((e) => e.time_s) });
	const use = match.weighings.map((_, w) => w).filter((w) => isUsable(match, time, w));
	const rough = records.combines.map((_, c) => appliedFactor(match.factors[c] ?? Number.NaN));
	const premises: Premises = {
		input,
		pinned,
		forms: records.combines.map((name) => plan.pins.factors?.[name]?.form),
		events: records.combines.map((name) =>
			events.filter((e) => e.combine === null || e.combine === name).map((e) => e.time_s),
		),
		flows,
		time,
		use,
		rough,
		rest: restsOf(match, rough),
		noted: notedRests(input),
		chain: chainOf({
			match,
			time,
			scales: scalesOf(match, reference, book, plan),
			scaleRatio: reference.ratio > 0 ? reference.ratio : 1,
			use,
			rough,
		}),
		unrecorded: unrecordedShares(records, account),
		coverage: coverageOf(match, use, jumps, records.combines.length),
		jumps: [],
	};
	const plain = playOf(premises, constants(premises), premises.rest, USUAL_SCATTER);
	return { ...premises, jumps: helpfulJumps(premises.chain, plain, jumps, premises.coverage) };
}

/** A constant factor for every combine. */
export const constants = ({ rough }: Premises): Shape[] => rough.map(() => CONSTANT);

/** Settings of a run with factors of these shapes, grain left in tanks and errors of these sizes. */
export function playOf(premises: Premises, shapes: readonly Shape[], rests: Rests, size: Scatter): Play {
	const { rough, flows } = premises;
	const { slopes } = flows;
	return {
		...usual(rough, shapes, rests, relationsOf(premises, shapes)),
		prior: (c, j) => {
			if (j === 0) return priorFactor(rough[c]!);
			const curve = shapes[c]!.form === 'flow' && slopes[c]!.why === null;
			return curve
				? { mean: rough[c]! * slopes[c]!.slope, u: rough[c]! * slopes[c]!.u, seam: true }
				: { mean: 0, u: rough[c]! * (shapes[c]!.form === 'flow' ? MONITOR.curve : MONITOR.change) };
		},
		sigma: size.sigma,
		rests: size.rests,
	};
}

/** Equations from the seams, and of the factors set by hand. */
function relationsOf(premises: Premises, shapes: readonly Shape[]): Relation[] {
	const { input, flows, jumps, time, rough, pinned } = premises;
	const { account, track, seams, records } = input;
	const { flow } = flows;
	return [
		...seamRelations({ account, track, seams, jumps, time, time_s: records.time_s, flow, shapes, rough }),
		...[...pinned].map(([c, k]) => pinRelation(time, shapes[c]!, c, k)),
	];
}

/** The equation that the whole field's mean factor has the value set by hand. */
function pinRelation(time: Timeline, shape: Shape, combine: number, value: number): Relation {
	const mean = meanOf(time, shape, combine);
	return {
		at: mean.map((by, coefficient) => ({ combine, coefficient, by })),
		value,
		variance: 1e-12,
		cause: 'prior',
		df: Infinity,
	};
}
