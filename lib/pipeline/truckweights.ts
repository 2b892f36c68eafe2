import type { DumpFate, FieldPlan, LoadBook, Match } from '../model/index.ts';
import { sameWeight, truckLoads } from '../reference/index.ts';
import { massInBoth } from '../units/index.ts';

/**
 * Weights that the cart gave to the trucks for dumps that were set aside: the offloads of a truckload less its other dumps weigh
 * the same grain once more, so they stand in for a dump's own weight. A dump that a person set aside stays so.
 *
 * @param decided - with the fates of all dumps, those of the factors included
 * @returns weight by the cart in kg, by dump
 */
export function truckWeights(decided: Match, book: LoadBook, plan: FieldPlan): Map<number, TruckWeight> {
	const weights = new Map<number, TruckWeight>();
	for (const { truck_load, dumps_kg, repaired } of truckLoads(book, decided.fates)) {
		if (!repaired || plan.pins.dumps?.[repaired.dump]) continue;
		const dump = book.dumps.findIndex((d) => d.id === repaired.dump);
		// Only the weight of a fill whose place in the log is known.
		if (decided.weighings.some((w) => !w.used && w.dumps.length === 1 && w.dumps[0] === dump))
			weights.set(dump, { truckLoad: truck_load, kg: repaired.cart_kg, u_kg: sameWeight(dumps_kg!) / 2 });
	}
	return weights;
}

/** A dump's weight by the truckload that it went into. */
export interface TruckWeight {
	truckLoad: string;
	kg: number;
	u_kg: number;
}

/** The match with weights by truckloads in place of those entered; the dumps stay set aside, and their reasons say so. */
export function withTruckWeights(match: Match, decided: Match, weights: ReadonlyMap<number, TruckWeight>): Match {
	const weighings = match.weighings.map((w) => {
		const by = w.dumps.length === 1 ? weights.get(w.dumps[0]!) : undefined;
		if (!by) return w;
		const reference_kg = (w.reference_kg / w.weight_kg) * by.kg;
		const readings: [number, number] = [-1, -1];
		return { ...w, weight_kg: by.kg, reference_kg, u_reading_kg: by.u_kg, readings, used: true };
	});
	const fates = match.fates.map((fate, i): DumpFate => {
		const by = weights.get(fate.dump);
		if (!by) return fate;
		const { reason } = decided.fates[i]!;
		const instead = `${massInBoth(by.kg)} by truckload ${by.truckLoad} is used in its place`;
		return { ...fate, status: 'aside', byTruck: true, reason: reason === null ? instead : `${reason}; ${instead}` };
	});
	return { ...match, weighings, fates };
}
