import { cumsum, sum } from 'd3-array';
import { AS_WEIGHED, type CartLoad, stepsByCart, throughCarts } from '../../model/index.ts';
import { align } from '../beam/align.ts';
import { FOUND_S } from '../beam/effort.ts';
import { normalCost } from '../beam/normal.ts';
import type { Explained } from '../explained.ts';
import { prepare } from '../problem/prepare.ts';
import { AS_WRITTEN, dumpsChecked, SHORT, type Shortage, within, withShortage } from './shortages.ts';
import type { Supposition } from './supposition.ts';

/** What a dump lacks where all lack the same: standard deviation; and less than which it is scale error, kg. */
const USUAL_KG = 300;
const LEAST_KG = 80;
/** What it may lack, kg: a search of the logs at each, and steps between these. */
const TRIED_KG = [-450, -300, -150, 0, 150, 300, 450, 600, 750];
const STEP_KG = 10;
/** An unsaved dump, or what stays in the cart, may be anything up to this, kg. */
const ANYTHING_KG = 15_000;
/** Share of cart loads with all dumps saved. */
const COMPLETE = 0.5;
/** Hypotheses kept in a search. */
const WIDTH = 8;
/** Cost of weights below nothing, nats. */
const IMPOSSIBLE = 1e6;
/** Quantiles that stand for a distribution, with their weights: the nodes of Gauss–Hermite quadrature, −√3, 0 and √3 standard deviations. */
const NODES = [
	{ below: 0.0416, weight: 1 / 6 },
	{ below: 0.5, weight: 2 / 3 },
	{ below: 0.9584, weight: 1 / 6 },
];

/**
 * Weights that all lack the same, where so many dumps were not saved that few cart loads show it: the logs tell as well, since
 * small dumps then lack a larger share. What they lack has a distribution, and explanations at three of its quantiles
 * stand for it.
 */
export function shortThroughout(plain: Explained): Supposition[] {
	const { input, offset, problem } = plain;
	const steps = stepsByCart(input.book);
	const { loads, emptied } = throughCarts(input.book, AS_WEIGHED, within, steps);
	if (loads.length < 2 || emptied.length > AS_WRITTEN * loads.length || dumpsChecked(input.reference)) return [];
	const to = Math.max(...steps.map((s) => s.length));
	const shortBy = (kg: number) =>
		withShortage(input, { kg, of: 'every', from: 0, to, closes: 0 } satisfies Shortage, 0);
	const searched = TRIED_KG.map((kg) => {
		const tried = kg === 0 ? problem : prepare(shortBy(kg).input, plain).problem;
		const effort = { width: WIDTH, whole: true, clock_s: FOUND_S };
		const { cost } = align(tried, offset.at_s, effort)[0]!;
		return Number.isFinite(cost) ? cost : IMPOSSIBLE;
	});
	// Offloads count where tickets bear them out.
	const byLoads = (kg: number) => (input.reference.sides ? loadsCost(loads, kg) : 0);
	const costAt = (kg: number) => between(searched, kg) + byLoads(kg);
	const { quantiles, cost } = distribution((kg) => costAt(kg) + normalCost(kg, USUAL_KG ** 2));
	const least = plain.cost + SHORT + cost - costAt(0);
	const { caution } = shortBy(quantiles[1]!);
	return NODES.map(({ weight }, i) => ({
		...shortBy(quantiles[i]!),
		caution,
		price: 0,
		least: least - Math.log(weight),
		...(offset.clock.byDay.length === 0 && { clock: offset }),
	}));
}

/** −ln of the probability of what cart loads lack where each dump lacks so much. */
function loadsCost(loads: readonly CartLoad[], kg: number): number {
	return sum(loads, ({ dumps, dumped_kg, lacks_kg }) => {
		if (dumps === 0) return 0;
		const all = Math.exp(-normalCost(lacks_kg - dumps * kg, (within(dumped_kg) / 2) ** 2));
		return -Math.log(COMPLETE * all + (1 - COMPLETE) / ANYTHING_KG);
	});
}

/** A cost between those that were searched. */
function between(searched: readonly number[], kg: number): number {
	const at = (kg - TRIED_KG[0]!) / (TRIED_KG[1]! - TRIED_KG[0]!);
	const k = Math.min(Math.floor(at), searched.length - 2);
	return searched[k]! + (at - k) * (searched[k + 1]! - searched[k]!);
}

/** Quantiles of what dumps lack, and the cost of all that they may lack together. */
function distribution(costAt: (kg: number) => number): { quantiles: number[]; cost: number } {
	const tried: number[] = [];
	for (let kg = TRIED_KG[0]!; kg <= TRIED_KG.at(-1)!; kg += STEP_KG) if (Math.abs(kg) >= LEAST_KG) tried.push(kg);
	const costs = tried.map(costAt);
	const least = Math.min(...costs);
	const below = cumsum(costs, (cost) => Math.exp(least - cost));
	const all = below.at(-1)!;
	// Between the steps, as if each were spread over its own width.
	const quantile = (share: number): number => {
		const k = below.findIndex((b) => b >= share * all);
		const own = below[k]! - (below[k - 1] ?? 0);
		return tried[k]! + STEP_KG * ((share * all - (below[k - 1] ?? 0)) / own - 0.5);
	};
	return { quantiles: NODES.map((n) => quantile(n.below)), cost: least - Math.log(STEP_KG * all) };
}
