/** Every weight as an equation. */
import { type LoadBook, stepsByCart, type Weighing } from '../../model/index.ts';
import { groupBy } from '../../stats/index.ts';
import type { Explained } from '../explained.ts';
import { grossBefore, grossVariance } from '../problem/observations.ts';
import { certified, totalBeside } from './total.ts';

/** Lists every weight as an equation, with the gross readings that it shares with its neighbors; adds to the explanation's cautions. */
export function weighings({ problem, input, solved, cautions }: Explained): Weighing[] {
	const { book, plan, reference, records } = input;
	const readings = grossReadings(book);
	const gross = grossBefore(book);
	const result: Weighing[] = [];
	const { list } = solved;
	// A weight deduced from the cart's level is a difference of weights that are listed anyway.
	list.forEach(({ deduced, ticket }, i) => {
		if (ticket < 0) return;
		const { kg, variance } = problem.deduced[deduced]!;
		result.push(certified(kg, Math.sqrt(variance), ticket, [i]));
	});
	const weighed = [...list.keys()].filter((i) => list[i]!.assignment);
	for (const [assignment, unloadings] of groupBy(weighed, (i) => list[i]!.assignment!)) {
		const observation = problem.observations[assignment.observation]!;
		const d = book.dumps[observation.dump]!;
		const before = gross[observation.dump]!;
		const own = d.u_kg > 0;
		result.push({
			kind: unloadings.length > 1 ? 'mixed' : 'dump',
			dumps: [observation.dump],
			ticket: -1,
			weight_kg: d.weight_kg,
			reference_kg: d.weight_kg * reference.ratio,
			u_reading_kg: Math.sqrt(observation.u2),
			readings: own ? [-1, -1] : readings[observation.dump]!,
			u_gross_kg: own
				? [d.u_kg / Math.SQRT2, d.u_kg / Math.SQRT2]
				: [
						Math.sqrt(grossVariance(before, d.scale, plan)),
						Math.sqrt(grossVariance(before + d.weight_kg, d.scale, plan)),
					],
			byCart: true,
			unloadings,
			used: assignment.kind !== 'outlier',
		});
	}
	const total = totalBeside(plan, records, reference, problem, solved);
	if (total.weighing) result.push(total.weighing);
	if (total.caution) cautions.push(total.caution);
	return result;
}

/** Ids of the gross readings before and after each dump; a dump's last reading is the next one's first. */
function grossReadings(book: LoadBook): [number, number][] {
	const pairs: [number, number][] = book.dumps.map(() => [-1, -1]);
	let id = 0;
	for (const steps of stepsByCart(book)) {
		for (const { dump } of steps) {
			if (dump >= 0) pairs[dump] = [id, id + 1];
			id++;
		}
		id++;
	}
	return pairs;
}
