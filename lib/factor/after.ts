import { type Factors, type Match, TANK } from '../model/index.ts';

/** What follows from the factors for weights and tanks. */
export type Decisions = Pick<Factors, 'aside' | 'emptiedAfterAll' | 'notes' | 'cautions'>;

/**
 * Updates the match by what the factors found: weights that are outliers are set aside, and grain that was left in tanks goes
 * where a step or a drift explains it, each with its reason; the notes and cautions of the factors are added.
 */
export function afterFactors(match: Match, factors: Decisions): Match {
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
	// Grain left in the tank that was inferred from one constant factor goes with it; it also concerns the next dump.
	const unloadings = match.unloadings.map((u) => ({ ...u }));
	const touched = new Set<number>();
	for (const i of factors.emptiedAfterAll ?? []) {
		const u = unloadings[i];
		if (!u) continue;
		touched.add(i);
		if (unloadings[i + 1]?.combine === u.combine) touched.add(i + 1);
		Object.assign(u, { rest_kg: 0, u_rest_kg: TANK.clinging_kg });
	}
	for (const fate of fates) {
		if (fate.status !== 'joined' || !fate.unloadings.some((i) => touched.has(i))) continue;
		fate.reason =
			'weighed while the factor changed; the tank is taken as emptied, since nobody entered that grain stayed';
	}
	return {
		...match,
		unloadings,
		fates,
		weighings,
		notes: [...match.notes, ...(factors.notes ?? [])],
		cautions: [...match.cautions, ...(factors.cautions ?? [])],
	};
}
