import type { Account, Factors, Records, SeamJump } from '../../model/index.ts';
import { appliedFactor } from '../../model/index.ts';

/** Prior standard deviation of a monitor's level, log. */
const APART = 0.2;

/**
 * Level of each combine relative to the others as recorded, natural log, estimated from seams with a prior of equal
 * levels. With these divided out, neighboring passes of different combines can be compared without any weight.
 */
export function levelsOf(combines: number, jumps: readonly SeamJump[]): Float64Array {
	const known = jumps.filter((j) => Number.isFinite(j.log_jump) && Number.isFinite(j.u_log));
	const level = new Float64Array(combines);
	const weight = known.map((j) => 1 / Math.max(j.u_log, 0.001) ** 2);
	// Gauss–Seidel iteration of the normal equations, which are small.
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

/** Factors separated into a level per combine and a shape within combines. */
export interface FactorParts {
	/** Natural log of each combine's mean factor, by mass; NaN where it has none. */
	level_log: Float64Array;
	/** Each record's factor over its combine's mean; null where every combine has one factor for all of its records. */
	shape: Float64Array | null;
	/** Root mean square of the shape's natural log, by mass, of the combine where it is largest. */
	spread_log: number;
}

/** Separates level and shape of the factors: a level scales the map, and only the shape changes its pattern. */
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
	if (!varies.includes(1)) return { level_log: mean.map(Math.log), shape: null, spread_log: 0 };
	const shape = new Float64Array(records.n).fill(1);
	const squares = new Float64Array(combines);
	for (let i = 0; i < records.n; i++) {
		const c = records.combine[i]!;
		if (varies[c] === 0 || !(mean[c]! > 0)) continue;
		shape[i] = appliedFactor(factors.factor[i]!) / mean[c]!;
		squares[c]! += account.account_kg[i]! * Math.log(shape[i]!) ** 2;
	}
	const spread_log = Math.sqrt(Math.max(...squares.map((sum, c) => (mass[c]! > 0 ? sum / mass[c]! : 0))));
	return { level_log: mean.map(Math.log), shape, spread_log };
}
