import type { Crop } from '../model/index.ts';

/**
 * Crops by name: customary US bushel weight (56, 60, 60, 48, 32, 56, 56 and 50 lb, rounded to the gram) and market
 * moisture. Market moistures differ by buyer and are from memory; an object in field.json replaces them.
 */
export const CROPS: readonly Crop[] = [
	{ name: 'corn', bushel_kg: 25.401, market_moisture_pct: 15.5 },
	{ name: 'soybeans', bushel_kg: 27.216, market_moisture_pct: 13 },
	{ name: 'wheat', bushel_kg: 27.216, market_moisture_pct: 13.5 },
	{ name: 'barley', bushel_kg: 21.772, market_moisture_pct: 14.5 },
	{ name: 'oats', bushel_kg: 14.515, market_moisture_pct: 14 },
	{ name: 'rye', bushel_kg: 25.401, market_moisture_pct: 14 },
	{ name: 'sorghum', bushel_kg: 25.401, market_moisture_pct: 14 },
	{ name: 'canola', bushel_kg: 22.68, market_moisture_pct: 10 },
];

/** The crop of that name (case and surrounding blanks do not matter), or null. */
export function cropNamed(name: string): Crop | null {
	const wanted = name.trim().toLowerCase();
	return CROPS.find((c) => c.name === wanted) ?? null;
}
