import type { LoadBook, Match, Reference, Weighing } from '../model/index.ts';
import { median } from '../stats/index.ts';

/**
 * Weights that the alignment set aside because they did not suit one constant factor, as weighings to be tried again: a
 * drift or a change is what such a weight may tell of. Repeats, mixed weights and weights without an unloading of their
 * own stay aside.
 */
export function setAsideWeights(match: Match, book: LoadBook, reference: Reference): Weighing[] {
	const taken = new Set(match.weighings.flatMap((w) => w.unloadings));
	const usual = median(match.weighings.filter((w) => w.byCart).map((w) => w.u_reading_kg));
	const out: Weighing[] = [];
	for (const fate of match.fates) {
		if (fate.status !== 'aside' || fate.unloadings.length !== 1) continue;
		const unloading = fate.unloadings[0]!;
		const weight_kg = book.dumps[fate.dump]?.weight_kg ?? Number.NaN;
		const account_kg = match.unloadings[unloading]?.account_kg ?? 0;
		if (taken.has(unloading) || !(weight_kg > 0) || !(account_kg > 0)) continue;
		taken.add(unloading);
		out.push({
			kind: 'dump',
			dumps: [fate.dump],
			ticket: -1,
			weight_kg,
			reference_kg: weight_kg * reference.ratio,
			u_reading_kg: Number.isFinite(usual) ? usual : 20,
			readings: [-1, -1],
			u_gross_kg: [Number.NaN, Number.NaN],
			byCart: true,
			unloadings: [unloading],
			used: true,
		});
	}
	return out;
}
