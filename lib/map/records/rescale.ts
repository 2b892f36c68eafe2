import type { Account, Factors, FieldPlan, MoistureOffset, Records, Track, Yields } from '../../model/index.ts';
import { appliedFactor } from '../../model/index.ts';
import { hypotenuse } from '../../stats/index.ts';
import { dryWeight } from '../../units/index.ts';
import { hasYield, meanMoisture_pct, type Pattern } from './pattern.ts';

/** Standard uncertainty of the width cut, meters: wander of the receiver from pass to pass (no source, from memory). */
const U_WIDTH_M = 0.1;

/**
 * Every record's yield at market moisture, corrected and as recorded, with its relative standard uncertainty.
 *
 *   yield = account mass × factor / ground newly cut × (100 − M) / (100 − M_market)
 *
 * M includes the combine's moisture offset. The monitor's yield is for the same record on the same ground, with its
 * recorded mass, no factor and no offset. Records are scaled, never smoothed. A record without moisture gets the mean
 * moisture of its field, or what stands in for that; its own stays blank. A combine without a factor gets 1.
 */
export function rescale(input: {
	records: Records;
	account: Account;
	track: Track;
	factors: Factors;
	moisture: MoistureOffset[];
	plan: FieldPlan;
	pattern: Pattern;
}): Yields {
	const { records, account, track, factors, moisture, plan, pattern } = input;
	const { n } = records;
	const market_pct = plan.crop.market_moisture_pct;
	const offsets = records.combines.map((_, c) => moisture.find((m) => m.combine === c));
	const offset_pct = offsets.map((o) => o?.offset_pct ?? 0);
	const u_offset_pct = offsets.map((o) => o?.u_pct ?? 0);
	const unsensed_pct = moisture[0]?.standIn?.pct ?? market_pct;
	const typical_pct = {
		sensed: meanMoisture_pct(records, account, track, unsensed_pct),
		corrected: meanMoisture_pct(records, account, track, unsensed_pct, offset_pct),
	};

	const monitor_kg_ha = new Float64Array(n).fill(Number.NaN);
	const corrected_kg_ha = new Float64Array(n).fill(Number.NaN);
	const moisture_pct = new Float64Array(n).fill(Number.NaN);
	const dry_kg = new Float64Array(n);
	for (let i = 0; i < n; i++) {
		const c = records.combine[i]!;
		const sensed_pct = track.moisture_pct[i]!;
		const known = Number.isFinite(sensed_pct);
		if (known) moisture_pct[i] = sensed_pct + offset_pct[c]!;
		const factor = appliedFactor(factors.factor[i]!);
		const raw_pct = known ? sensed_pct : typical_pct.sensed;
		const true_pct = known ? moisture_pct[i]! : typical_pct.corrected;
		dry_kg[i] = finite(dryWeight(account.account_kg[i]! * factor, true_pct, market_pct));
		const area_m2 = track.area_m2[i]!;
		if (!hasYield(records, account, track, i)) continue;
		monitor_kg_ha[i] = dryWeight(account.monitor_kg[i]!, raw_pct, market_pct) / (area_m2 / 10_000);
		corrected_kg_ha[i] = dry_kg[i]! / (area_m2 / 10_000);
	}

	const level = sharedLevel(records, factors);
	const u_rel = new Float64Array(n).fill(Number.NaN);
	const common_rel = new Float64Array(n).fill(Number.NaN);
	for (let i = 0; i < n; i++) {
		if (!Number.isFinite(corrected_kg_ha[i]!)) continue;
		const c = records.combine[i]!;
		const true_pct = Number.isFinite(moisture_pct[i]!) ? moisture_pct[i]! : typical_pct.corrected;
		const u_dry = u_offset_pct[c]! / (100 - true_pct);
		const width_m = track.width_m[i]!;
		const u_area = width_m > U_WIDTH_M ? U_WIDTH_M / width_m : 1;
		const u_local = pattern.scatter[i]!;
		common_rel[i] = hypotenuse(level(c, i), u_dry);
		u_rel[i] = hypotenuse(hypotenuse(finite(factors.u_rel[i]!), u_dry), hypotenuse(u_area, u_local));
	}
	return { monitor_kg_ha, corrected_kg_ha, dry_kg, u_rel, common_rel, moisture_pct, flag: pattern.flag };
}

const finite = (v: number): number => (Number.isFinite(v) ? v : 0);

/**
 * Common error of all records of a combine: the factor's uncertainty for the whole field. A record's own `u_rel` also
 * includes the monitor's slow errors, which vary from place to place and belong to the local part; its excess over the
 * smallest of its combine comes from the form (the ends of a drift) and is kept.
 */
function sharedLevel(records: Records, factors: Factors): (combine: number, i: number) => number {
	const least = records.combines.map(() => Infinity);
	for (let i = 0; i < records.n; i++) {
		const c = records.combine[i]!;
		if (factors.u_rel[i]! < least[c]!) least[c] = factors.u_rel[i]!;
	}
	const field = records.combines.map((_, c) => factors.factors.find((f) => f.combine === c)?.u_rel ?? Number.NaN);
	return (c, i) => {
		const own = finite(factors.u_rel[i]!);
		if (!Number.isFinite(field[c]!)) return own;
		return Math.min(own, Math.sqrt(field[c]! ** 2 + Math.max(0, own ** 2 - least[c]! ** 2)));
	};
}
