import type { ComparedCombine } from '../model/index.ts';
import type { CompareInput } from './input.ts';
import type { Day } from './workday.ts';

/** One combine's totals, rates and means. */
export function combineOf(input: CompareInput, mass: Float64Array, day: Day, c: number): ComparedCombine {
	const { records, track, factors, moisture, plan } = input;
	const market = plan.crop.market_moisture_pct;
	const offset = moisture[c]?.offset_pct ?? 0;
	let area = 0;
	let total = 0;
	let way = 0;
	let seconds = 0;
	let water = 0;
	let watered = 0;
	let dry = 0;
	let dryArea = 0;
	for (let i = 0; i < records.n; i++) {
		if (records.combine[i] !== c) continue;
		const a = Number.isFinite(track.area_m2[i]!) ? track.area_m2[i]! : 0;
		area += a;
		total += mass[i]!;
		if (track.flag[i] !== 0) continue;
		const t = records.interval_s[i]!;
		if (t > 0 && track.speed_m_s[i]! > 0) {
			way += t * track.speed_m_s[i]!;
			seconds += t;
		}
		const m = track.moisture_pct[i]! + offset;
		if (!Number.isFinite(m)) continue;
		water += m * mass[i]!;
		watered += mass[i]!;
		dry += (mass[i]! * (100 - m)) / (100 - market);
		dryArea += a;
	}
	const f = factors.factors[c]!;
	const lag = track.lags.find((l) => l.combine === c);
	const hours = day.worked_s / 3600;
	return {
		combine: c,
		name: records.combines[c]!,
		factor: f.value,
		factor_interval: f.interval,
		lag_s: lag?.lag_s ?? Number.NaN,
		u_lag_s: lag?.u_s ?? Number.NaN,
		area_ha: area / 1e4,
		mass_kg: total,
		worked_s: day.worked_s,
		area_ha_h: area / 1e4 / hours,
		mass_t_h: total / 1e3 / hours,
		time: day.time,
		speed_m_s: way / seconds,
		moisture_pct: water / watered,
		yield_kg_ha: dry / (dryArea / 1e4),
	};
}
