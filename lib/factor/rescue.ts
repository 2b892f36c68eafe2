import type { Match } from '../model/index.ts';

/**
 * Weights that the alignment set aside because they did not suit one constant factor (indices into Match.weighings), to
 * be tried again: a drift or a change is what such a weight may tell of. Repeats, mixed weights and weights without an
 * unloading of their own stay aside.
 */
export function setAsideWeights(match: Match): number[] {
	const used = new Set(match.weighings.flatMap((w) => (w.used ? w.unloadings : [])));
	const out: number[] = [];
	match.weighings.forEach((w, i) => {
		if (w.used || w.kind !== 'dump' || w.unloadings.length !== 1 || !(w.reference_kg > 0)) return;
		const unloading = w.unloadings[0]!;
		if (!used.has(unloading) && (match.unloadings[unloading]?.account_kg ?? 0) > 0) out.push(i);
	});
	return out;
}
