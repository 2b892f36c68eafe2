/** Totals of a selection of records, with an interval. */
import type { Scene } from '../../../lib/model/index.ts';

export interface Totals {
	records: number;
	area_ha: number;
	/** Corrected, wet and dry at market moisture. */
	wet_kg: number;
	dry_kg: number;
	/** As recorded, dry. */
	monitor_dry_kg: number;
	/** Dry kg per area of the records on the map, and its 95 % half-width. */
	yield_kg_ha: number;
	half_kg_ha: number;
	/** 95 % half-width of the dry mass, relative. */
	half_rel: number;
	moisture_pct: number;
}

/**
 * Mass includes every record, flagged or not, since all of it went into the tank. Yield is that of records on the map.
 *
 * Uncertainty: errors that a combine's records share (factor, reference, moisture offset) do not average out and enter
 * by the factors' covariance; a monitor's slow error is common within a fill, so the scatter between fills counts once
 * per fill; the rest of a record's uncertainty is independent. Without evidence, errors are taken to be common to all.
 *
 * @param mask - 1 = selected; null = all
 */
export function totalsOf(s: Scene, mask: Uint8Array | null): Totals {
	const { combines, evidence, field } = s.facts;
	const market = field.crop.market_moisture_pct;
	const byCombine = new Float64Array(combines.length);
	const byFill = new Map<number, number>();
	let records = 0;
	let area = 0;
	let keptArea = 0;
	let keptDry = 0;
	let wet = 0;
	let dry = 0;
	let monitorDry = 0;
	let moist = 0;
	let moistWet = 0;
	let own = 0;
	for (let i = 0; i < s.n; i++) {
		if (mask && mask[i] !== 1) continue;
		records++;
		const k = Number.isFinite(s.factor[i]!) ? s.factor[i]! : 1;
		const kg = (s.account_kg[i] || 0) * k;
		const m = s.moisture_pct[i]!;
		const share = Number.isFinite(m) ? (100 - m) / (100 - market) : 1;
		wet += kg;
		dry += kg * share;
		monitorDry += (kg / k) * share;
		if (Number.isFinite(m)) {
			moist += m * kg;
			moistWet += kg;
		}
		byCombine[s.combine[i]!]! += kg * share;
		const fill = s.fill[i]! < 0 ? -1 - s.combine[i]! : s.fill[i]!;
		byFill.set(fill, (byFill.get(fill) ?? 0) + kg * share);
		const a = s.area_m2[i]!;
		if (a > 0) area += a;
		if (a > 0 && s.flag[i] === 0) {
			keptArea += a;
			keptDry += (s.corrected_kg_ha[i]! * a) / 10_000 || 0;
		}
		const common = Number.isFinite(s.common_rel[i]!) ? s.common_rel[i]! : 0;
		const u2 = (s.u_rel[i]! || 0) ** 2 - common ** 2;
		if (u2 > 0) own += u2 * (kg * share) ** 2;
	}
	let variance = 0;
	if (dry > 0) {
		for (let a = 0; a < combines.length; a++) {
			for (let b = 0; b < combines.length; b++) {
				const c = evidence?.covariance[a * combines.length + b];
				const fallback = a === b ? (s.facts.result.combines[combines[a]!]?.factor?.u_rel ?? 0) ** 2 : 0;
				variance += ((byCombine[a]! * byCombine[b]!) / dry ** 2) * (Number.isFinite(c ?? Number.NaN) ? c! : fallback);
			}
			const offset = s.facts.result.combines[combines[a]!]?.moisture;
			const mean = moistWet > 0 ? moist / moistWet : market;
			variance += (((offset?.u_pct ?? 0) / (100 - mean)) * (byCombine[a]! / dry)) ** 2;
		}
		for (const [fill, kg] of byFill) {
			const c = fill < 0 ? -1 - fill : Math.max(0, combineOfFill(s, fill));
			const scatter = evidence?.factors[c]?.scatter_rel ?? 0;
			if (mask && Number.isFinite(scatter)) variance += ((kg / dry) * scatter) ** 2;
		}
		variance += own / dry ** 2;
	}
	const half_rel = 1.96 * Math.sqrt(variance);
	const yield_kg_ha = keptArea > 0 ? (keptDry / keptArea) * 10_000 : Number.NaN;
	return {
		records,
		area_ha: area / 10_000,
		wet_kg: wet,
		dry_kg: dry,
		monitor_dry_kg: monitorDry,
		yield_kg_ha,
		half_kg_ha: yield_kg_ha * half_rel,
		half_rel,
		moisture_pct: moistWet > 0 ? moist / moistWet : Number.NaN,
	};
}

function combineOfFill(s: Scene, fill: number): number {
	const name = s.facts.fills[fill]!;
	const of = s.facts.evidence?.unloadings.find((u) => u.fill === name);
	return of ? of.combine : s.facts.combines.findIndex((c) => name.startsWith(c));
}
