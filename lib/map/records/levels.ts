import type { Account, Factors, Records, SeamJump } from '../../model/index.ts';
import { appliedFactor } from '../../model/index.ts';

/** Monitors differ by about this before anything is known, log. */
const APART = 0.2;

/**
 * How much each combine shows against the others as recorded, natural log: what the seams tell, held to one level
 * where they tell nothing. With these divided out, neighbors of two combines can be compared before a weight speaks.
 */
export function levelsOf(combines: number, jumps: readonly SeamJump[]): Float64Array {
	const known = jumps.filter((j) => Number.isFinite(j.log_jump) && Number.isFinite(j.u_log));
	const level = new Float64Array(combines);
	const weight = known.map((j) => 1 / Math.max(j.u_log, 0.001) ** 2);
	// Gauss and Seidel's steps on the normal equations: a few combines, a few seams.
	for (let turn = 0; turn < 200; turn++) {
		for (let c = 0; c < combines; c++) {
			let sum = 0;
			let all = 1 / APART ** 2;
			known.forEach((j, k) => {
				if (j.combineA === c) sum += weight[k]! * (level[j.combineB]! + j.log_jump);
				else if (j.combineB === c) sum += weight[k]! * (level[j.combineA]! - j.log_jump);
				else return;
				all += weight[k]!;
			});
			level[c] = sum / all;
		}
	}
	return level;
}

/** Factors told apart into what all of a combine's records share and what differs among them. */
export interface FactorParts {
	/** Natural log of each combine's mean factor, by mass; NaN where it has none. */
	level_log: Float64Array;
	/** Each record's factor over its combine's mean; null where every combine has one factor for all of its records. */
	shape: Float64Array | null;
}

/** Tells level and shape of the factors apart: the level scales a map as a whole, only the shape changes its pattern. */
export function factorParts(records: Records, account: Account, factors: Factors): FactorParts {
	const combines = records.combines.length;
	const first = new Float64Array(combines).fill(Number.NaN);
	const seen = new Uint8Array(combines);
	const varies = new Uint8Array(combines);
	const mass = new Float64Array(combines);
	const scaled = new Float64Array(combines);
	for (let i = 0; i < records.n; i++) {
		const c = records.combine[i]!;
		const f = factors.factor[i]!;
		if (seen[c] === 0) {
			seen[c] = 1;
			first[c] = f;
		} else if (!Object.is(f, first[c])) varies[c] = 1;
		mass[c]! += account.account_kg[i]!;
		scaled[c]! += account.account_kg[i]! * appliedFactor(f);
	}
	const mean = first.map((f, c) => (varies[c] === 1 && mass[c]! > 0 ? scaled[c]! / mass[c]! : f));
	if (!varies.includes(1)) return { level_log: mean.map(Math.log), shape: null };
	const shape = new Float64Array(records.n).fill(1);
	for (let i = 0; i < records.n; i++) {
		const c = records.combine[i]!;
		if (varies[c] === 1 && mean[c]! > 0) shape[i] = appliedFactor(factors.factor[i]!) / mean[c]!;
	}
	return { level_log: mean.map(Math.log), shape };
}
