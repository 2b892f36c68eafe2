import { type Factors, type Match, TANK } from '../model/index.ts';

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
		fate.reason = 'fits once the factor is allowed to change during the field';
		for (const w of weighings) if (w.dumps.includes(dump)) w.used = true;
	}
	// Rests that were read off one factor are gone with it, before the next dump as well.
	const unloadings = match.unloadings.map((u) => ({ ...u }));
	const touched = new Set<number>();
	for (const i of factors.overturned ?? []) {
		const u = unloadings[i];
		if (!u) continue;
		touched.add(i);
		if (unloadings[i + 1]?.combine === u.combine) touched.add(i + 1);
		Object.assign(u, { rest_kg: 0, u_rest_kg: TANK.clinging_kg, restPrior_kg: 0, u_restPrior_kg: TANK.clinging_kg });
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
