import { type Match, TANK } from '../../model/index.ts';
import { logGamma } from '../../stats/index.ts';
import type { FactorInput } from '../input.ts';
import type { Rests } from './play.ts';
import type { Timeline } from './timeline.ts';

/**
 * Prior cost of how often grain was left in the tank without a note, −2 log odds: a uniform prior on the share where nothing
 * was noted, and a small probability that a note of an emptied tank is wrong.
 */
export function restsCost({ match, book, records }: FactorInput, rests: Rests, noted: ReadonlySet<number>): number {
	let cost = 0;
	records.combines.forEach((_, c) => {
		let open = 0;
		let stayed = 0;
		match.unloadings.forEach((u, i) => {
			if (u.combine !== c || noted.has(i)) return;
			const broad = rests.u_kg[i]! > TANK.broad_kg;
			if (book.dumps[u.dump]?.emptied === 1) cost -= 2 * Math.log(broad ? TANK.noteWrong : 1 - TANK.noteWrong);
			else {
				open++;
				stayed += Number(broad);
			}
		});
		cost += 2 * (logGamma(open + 1) - logGamma(stayed + 1) - logGamma(open - stayed + 1));
	});
	return cost;
}

/** Unloadings that the load book has as not emptied. */
export function notedRests({ match, book }: FactorInput): Set<number> {
	return new Set(match.unloadings.flatMap((u, i) => (book.dumps[u.dump]?.emptied === 0 ? [i] : [])));
}

/** Whether a weighing is used by the match and covers grain in these logs. */
export function isUsable(match: Match, time: Timeline, w: number): boolean {
	const { used, kind, reference_kg, unloadings } = match.weighings[w]!;
	if (!used || !(reference_kg > 0)) return false;
	return kind === 'total' ? time.account_kg.some((m) => m > 0) : unloadings.length > 0;
}

/** Copies the priors with a combine's tank emptied at every unloading that is not noted as leaving grain. */
export function withoutRests(match: Match, rest: Rests, combine: number, noted: ReadonlySet<number>): Rests {
	const out = { kg: rest.kg.slice(), u_kg: rest.u_kg.slice() };
	const clear = (i: number) => {
		out.kg[i] = 0;
		out.u_kg[i] = Math.hypot(TANK.clinging_kg, match.unloadings[i]?.u_account_kg || 0);
	};
	match.unloadings.forEach((u, i) => {
		if (u.combine === combine && out.u_kg[i]! > TANK.broad_kg && !noted.has(i)) clear(i);
	});
	clear(match.unloadings.length + combine);
	return out;
}

/** Whether a weight is by the truckload of a dump that is set aside (`DumpFate.byTruck`). */
export function isByTruck(match: Match, weighing: number): boolean {
	return match.weighings[weighing]!.dumps.some((d) => match.fates[d]?.byTruck === true);
}
