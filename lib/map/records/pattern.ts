import {
	type Account,
	type Each,
	inTurn,
	type Records,
	type SeamJump,
	type Track,
	type Tracked,
} from '../../model/index.ts';
import { dryWeight } from '../../units/index.ts';
import { levelsOf } from './combine-levels.ts';
import { localScatter } from './local-scatter.ts';
import { unlikeNeighbors } from './unlike-neighbors.ts';

/** Least ground for a yield, m², since yields are mass over ground. */
const LEAST_AREA_M2 = 0.05;

/**
 * The crop's pattern, with all combines on one level, from which the map's flags, kriging weights and local errors
 * follow. It does not depend on dumps or tickets, so a pin on one of those changes only the level of the map.
 */
export interface Pattern {
	/** Yield at market moisture as recorded, divided by its combine's level from the seams. NaN where there is none. */
	yield_kg_ha: Float64Array;
	/** All flags, `lone` included. */
	flag: Uint8Array;
	/** Relative local scatter of each record. */
	scatter: Float64Array;
}

/** What the pattern is made from. */
export interface PatternInput extends Tracked {
	/** At the seams, as recorded. */
	jumps: readonly SeamJump[];
	/** Factor of each record over its combine's mean, one value per record; null = all 1. */
	shape: Float64Array | null;
}

/** Makes the crop's pattern, with its flags and local scatter. */
export function fieldPattern(input: PatternInput, each: Each = inTurn): Pattern {
	const { records, account, track, jumps, shape, plan } = input;
	const market_pct = plan.crop.market_moisture_pct;
	const share = levelsOf(records.combines.length, jumps).map((level) => Math.exp(-level));
	const typical_pct = meanMoisture_pct(records, account, track, market_pct);
	const yield_kg_ha = new Float64Array(records.n).fill(Number.NaN);
	for (let i = 0; i < records.n; i++) {
		if (!hasYield(records, account, track, i)) continue;
		const sensed_pct = track.moisture_pct[i]!;
		const mass_kg = account.account_kg[i]! * share[records.combine[i]!]! * (shape ? shape[i]! : 1);
		const dry_kg = dryWeight(mass_kg, Number.isFinite(sensed_pct) ? sensed_pct : typical_pct, market_pct);
		yield_kg_ha[i] = dry_kg / (track.area_m2[i]! / 10_000);
	}
	const flag = unlikeNeighbors({ records, track, yield_kg_ha, threshold: plan.flags.lone ?? null, each });
	return { yield_kg_ha, flag, scatter: localScatter({ records, track, yield_kg_ha, flag }) };
}

/** True where a record has a yield: it has ground, and either flow and interval or a filled-in mass. */
export function hasYield(records: Records, account: Account, track: Track, i: number): boolean {
	if (!(track.area_m2[i]! > LEAST_AREA_M2)) return false;
	return account.fault[i] !== 0 || (Number.isFinite(records.flow_kg_s[i]!) && Number.isFinite(records.interval_s[i]!));
}

/** Mass-weighted mean of sensed moisture, offsets added; the one given where no record has any. */
export function meanMoisture_pct(
	records: Records,
	account: Account,
	track: Track,
	unsensed_pct: number,
	offset_pct: readonly number[] | null = null,
): number {
	let mass_kg = 0;
	let water = 0;
	for (let i = 0; i < records.n; i++) {
		const m = track.moisture_pct[i]!;
		const w = account.account_kg[i]!;
		if (!Number.isFinite(m) || !(w > 0)) continue;
		mass_kg += w;
		water += w * (offset_pct ? m + offset_pct[records.combine[i]!]! : m);
	}
	return mass_kg > 0 ? water / mass_kg : unsensed_pct;
}
