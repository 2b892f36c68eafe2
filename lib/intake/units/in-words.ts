import type { Crop } from '../../model/index.ts';
import { ACRE_M2, FOOT_M, HECTARE_M2, MILE_M, POUND_KG } from '../../units/index.ts';

/**
 * Quantities in words for both unit systems: "7.2 ft (2.2 m)". Whoever shows them to a person keeps one of the two
 * (`inOneSystem`).
 */

/** Three significant digits, or all digits before the point. */
export const short = (x: number): string =>
	Math.abs(x) >= 100 ? x.toFixed(0) : x.toPrecision(3).replace(/\.?0+$/, '');

export const length = (length_m: number): string => `${short(length_m / FOOT_M)} ft (${short(length_m)} m)`;

export const speed = (speed_m_s: number): string =>
	`${short((speed_m_s * 3600) / MILE_M)} mph (${short(speed_m_s * 3.6)} km/h)`;

/** Bushels of the crop; pounds if the crop is not known. */
export function yields(yield_kg_ha: number, crop: Crop | null): string {
	const per_ac = (yield_kg_ha * ACRE_M2) / HECTARE_M2;
	const us = crop === null ? `${short(per_ac / POUND_KG)} lb/ac` : `${short(per_ac / crop.bushel_kg)} bu/ac`;
	return `${us} (${short(yield_kg_ha / 1000)} t/ha)`;
}

export const mass = (mass_kg: number): string => `${(mass_kg / POUND_KG).toFixed(0)} lb (${mass_kg.toFixed(0)} kg)`;

export const area = (area_m2: number): string =>
	`${(area_m2 / ACRE_M2).toFixed(2)} ac (${(area_m2 / HECTARE_M2).toFixed(2)} ha)`;
