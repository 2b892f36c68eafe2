import type { FieldPlan, Records, Reference, Weighing } from '../../model/index.ts';
import { massInBoth } from '../../units/index.ts';
import type { BestHypothesis } from '../best-at-offset.ts';
import type { Problem } from '../problem/problem.ts';

/** A total that differs from the other weights by more standard uncertainties than this is not used. */
const BEYOND = 3;
/** Relative standard uncertainty of monitors over the part of a field that was not weighed (common practice). */
const UNWEIGHED_U = 0.01;
/** A dry weight explains a difference that equals the drying within this, relative. */
const NEAR = 0.008;

/** A weight that was not taken on the cart; of the whole field where it has no unloadings. */
export function certified(kg: number, u_kg: number, ticket = -1, unloadings: number[] = []): Weighing {
	return {
		kind: ticket < 0 ? 'total' : 'ticket',
		dumps: [],
		ticket,
		weight_kg: kg,
		reference_kg: kg,
		u_reading_kg: u_kg,
		readings: [-1, -1],
		u_gross_kg: [0, 0],
		byCart: false,
		unloadings,
		used: true,
	};
}

/**
 * Makes a weighing of a total: set aside with a caution where other weights differ from it by more than their joint uncertainty
 * allows. Where nothing else is certified, a caution says what the total may be.
 */
export function totalBeside(
	plan: FieldPlan,
	records: Records,
	reference: Reference,
	problem: Problem,
	{ factor, u_factor }: BestHypothesis,
): { weighing: Weighing | null; caution: string | null } {
	if (!plan.total) return { weighing: null, caution: null };
	const weighing = certified(plan.total.wet_kg, plan.total.u_rel * plan.total.wet_kg);
	const known = problem.flows.every((f, c) => f.total_kg === 0 || u_factor[c]! < 0.05);
	const drying = dryingOf(records, problem, plan.crop.market_moisture_pct);
	const alone = reference.source === 'tickets' ? null : totalAlone(plan, drying);
	if (problem.observations.length === 0 || !known) return { weighing, caution: alone };
	let mass = 0;
	let spread = 0;
	problem.flows.forEach((f, c) => {
		mass += factor[c]! * f.total_kg;
		spread += u_factor[c]! * f.total_kg;
	});
	const off = plan.total.wet_kg / mass - 1;
	const u = Math.hypot(plan.total.u_rel, spread / mass, reference.u_rel, UNWEIGHED_U * (1 - problem.priors.weighed));
	if (!(Math.abs(off) > BEYOND * u)) return { weighing, caution: alone };
	const dry = Math.abs(off - drying) < NEAR;
	const cause = dry
		? `Possible cause: it is a dry weight at ${plan.crop.market_moisture_pct}% moisture`
		: 'Possible causes: grain of another field in it, loads missing from it, or another unit';
	return {
		weighing: { ...weighing, used: false },
		caution: `Not used: the field's total of ${massInBoth(plan.total.wet_kg)} is ${(100 * Math.abs(off)).toFixed(1)}% ${off > 0 ? 'more' : 'less'} than the other weights make of the field. ${cause}. Check the total.`,
	};
}

/** What a total that no other certified weight checks may be. */
function totalAlone(plan: FieldPlan, drying: number): string {
	const dry = Math.abs(drying) > plan.total!.u_rel ? `, or if it is ${dryWeight(plan, drying)}` : '';
	return `The field's total alone sets the level, and no other certified weight checks it. If a load is missing from it${dry}, all factors are off by as much.`;
}

/** A dry weight, with how far it is from the wet one. */
export const dryWeight = (plan: FieldPlan, drying: number): string =>
	`a dry weight at ${plan.crop.market_moisture_pct}% moisture (${(100 * Math.abs(drying)).toFixed(1)}% ${drying < 0 ? 'less' : 'more'})`;

/** Relative change of mass by drying all grain to market moisture, negative for a loss; NaN where no moisture is known. */
export function dryingOf(records: Records, problem: Problem, market_pct: number): number {
	let wet = 0;
	let dry = 0;
	for (const f of problem.flows) {
		for (let k = 0; k < f.index.length; k++) {
			const kg = f.sum_kg[k + 1]! - f.sum_kg[k]!;
			const moisture = records.moisture_pct[f.index[k]!]!;
			if (!(moisture > 0) || !(kg > 0)) continue;
			wet += kg;
			dry += (kg * (100 - moisture)) / (100 - market_pct);
		}
	}
	return wet > 0 ? dry / wet - 1 : Number.NaN;
}
