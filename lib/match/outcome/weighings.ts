/** Every weight as an equation. */
import { type Dump, type LoadBook, stepsByCart, type Weighing } from '../../model/index.ts';
import { grossBefore, grossVariance } from '../problem/observations.ts';
import type { OutcomeInput } from './input.ts';
import { weights } from './smooth.ts';
import { totalBeside } from './total.ts';

/** Lists every weight as an equation, with the gross readings that it shares with its neighbors. */
export function weighings(input: OutcomeInput): Weighing[] {
	const { problem, book, plan, reference, list } = input;
	const readings = grossReadings(book);
	const gross = grossBefore(book);
	const result: Weighing[] = [];
	for (const w of weights(problem, list)) {
		if (w.observation < 0) {
			const deduced = problem.deduced[w.deduced]!;
			// A weight deduced from the cart's level is a difference of weights that are listed already.
			if (deduced.ticket < 0) continue;
			result.push({
				kind: 'ticket',
				dumps: [],
				ticket: deduced.ticket,
				weight_kg: deduced.kg,
				reference_kg: deduced.kg,
				u_reading_kg: Math.sqrt(deduced.variance),
				readings: [-1, -1],
				u_gross_kg: [0, 0],
				byCart: false,
				unloadings: w.emptyings,
				used: true,
			});
			continue;
		}
		const observation = problem.observations[w.observation]!;
		const d = book.dumps[observation.dump] as Dump;
		const before = gross[observation.dump] as number;
		const own = d.u_kg > 0;
		result.push({
			kind: w.emptyings.length > 1 ? 'mixed' : 'dump',
			dumps: [observation.dump],
			ticket: -1,
			weight_kg: d.weight_kg,
			reference_kg: d.weight_kg * reference.ratio,
			u_reading_kg: Math.sqrt(observation.u2),
			readings: own ? [-1, -1] : (readings[observation.dump] as [number, number]),
			u_gross_kg: own
				? [d.u_kg / Math.SQRT2, d.u_kg / Math.SQRT2]
				: [
						Math.sqrt(grossVariance(before, d.scale, plan)),
						Math.sqrt(grossVariance(before + d.weight_kg, d.scale, plan)),
					],
			byCart: true,
			unloadings: w.emptyings,
			used: w.accepted,
		});
	}
	const total = totalBeside(plan, input.records, reference, problem, input.smooth);
	if (total.weighing) result.push(total.weighing);
	if (total.caution) input.cautions.push(total.caution);
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
