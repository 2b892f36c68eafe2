/**
 * Weight of wet grain after drying to market moisture: dry matter stays, only water leaves.
 * Moistures are wet basis, percent. The result has the unit of `wet`.
 */
export function dryWeight(wet: number, moisture_pct: number, market_pct: number): number {
	return (wet * (100 - moisture_pct)) / (100 - market_pct);
}

/** Wet weight of grain whose weight is stated as dried to `at_pct`: the inverse of `dryWeight`. */
export function wetWeight(dry: number, moisture_pct: number, at_pct: number): number {
	return (dry * (100 - at_pct)) / (100 - moisture_pct);
}

/**
 * Weight that a buyer pays for: a shrink rate per point above market moisture, plus a handling share. This is the
 * buyer's rule (pencil shrink), not a physical weight, and is never used in yields.
 */
export function paidWeight(
	wet: number,
	moisture_pct: number,
	market_pct: number,
	rule: { shrink_pct_per_point: number; handling_pct: number },
): number {
	const points = Math.max(0, moisture_pct - market_pct);
	return wet * Math.max(0, 1 - (points * rule.shrink_pct_per_point + rule.handling_pct) / 100);
}
