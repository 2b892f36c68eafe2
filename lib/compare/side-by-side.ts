import { appliedFactor } from '../model/index.ts';
import type { CompareInput } from './input.ts';

/** The passes on both sides of each seam between two combines: one pair per seam, weighted by its length. */
export function sideBySide(input: CompareInput, a: number, b: number) {
	const { seams, records, track, account, factors, moisture, plan } = input;
	const speed: { a: number; b: number; w: number }[] = [];
	const moist: { a: number; b: number; w: number }[] = [];
	let mass = 0;
	let dry = 0;
	let area = 0;
	let water = 0;
	for (const s of seams) {
		if (s.excluded !== null || s.combineA !== a || s.combineB !== b) continue;
		const both = [s.passA, s.passB].map((p) => {
			const c = track.passes[p]!.combine;
			const offset = moisture[c]?.offset_pct ?? 0;
			const sum = { way: 0, time: 0, water: 0, mass: 0, dry: 0, area: 0 };
			for (const i of track.passes[p]!.records) {
				if (track.flag[i] !== 0 || !(track.area_m2[i]! > 0)) continue;
				const m = account.account_kg[i]! * appliedFactor(factors.factor[i]!);
				const t = records.interval_s[i]!;
				const wet = track.moisture_pct[i]! + offset;
				if (!Number.isFinite(wet)) continue;
				sum.way += t * track.speed_m_s[i]!;
				sum.time += t;
				sum.water += m * wet;
				sum.mass += m;
				sum.dry += (m * (100 - wet)) / (100 - plan.crop.market_moisture_pct);
				sum.area += track.area_m2[i]!;
			}
			return sum;
		});
		const [p, q] = both as [(typeof both)[number], (typeof both)[number]];
		if (!(p.mass > 0) || !(q.mass > 0)) continue;
		const w = s.length_m;
		speed.push({ a: p.way / p.time, b: q.way / q.time, w });
		moist.push({ a: p.water / p.mass, b: q.water / q.mass, w });
		mass += q.mass;
		dry += q.dry;
		area += q.area;
		water += q.water;
	}
	return {
		speed,
		moisture: moist,
		wetB: area > 0 ? mass / (area / 1e4) : 0,
		dryB: area > 0 ? dry / (area / 1e4) : 0,
		moisture_pct: mass > 0 ? water / mass : 15,
	};
}
