import type { Factors, Match } from '../model/index.ts';

/**
 * The alignment as the factors leave it: weights that the robust solution does not believe are aside, weights that a step
 * or a drift explains are used after all, each with its reason, and the remarks of the factors stand beside its own.
 */
export function afterFactors(match: Match, factors: Factors): Match {
	const fates = match.fates.map((f) => ({ ...f }));
	const weighings = match.weighings.map((w) => ({ ...w }));
	for (const { weighing, reason } of factors.aside ?? []) {
		const w = weighings[weighing];
		if (!w) continue;
		w.used = false;
		for (const fate of fates) {
			if (!w.dumps.includes(fate.dump)) continue;
			fate.status = 'aside';
			fate.reason = reason;
		}
	}
	for (const dump of factors.rescued ?? []) {
		const fate = fates.find((f) => f.dump === dump);
		if (!fate) continue;
		fate.status = 'joined';
		fate.reason = 'did not suit one factor for the whole field, and suits the factor that changed';
	}
	return {
		...match,
		fates,
		weighings,
		notes: [...match.notes, ...(factors.notes ?? [])],
		cautions: [...match.cautions, ...(factors.cautions ?? [])],
	};
}
