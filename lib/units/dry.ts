/**
 * Weight that wet grain has once dried to the market's moisture: the dry matter stays, only water leaves.
 * Moistures are on wet basis, percent; so is the result's unit that of `wet`.
 */
export function dryWeight(wet: number, moisture_pct: number, market_pct: number): number {
	return (wet * (100 - moisture_pct)) / (100 - market_pct);
}

/** Wet weight of grain whose weight is stated as dried to `at_pct`: the way back from `dryWeight`. */
export function wetWeight(dry: number, moisture_pct: number, at_pct: number): number {
	return (dry * (100 - at_pct)) / (100 - moisture_pct);
}

/** Percent of the wet weight lost for each point of water taken out: 100 / (100 − market), 1.1834 at 15.5 %. */
export function waterShrink_pct_per_point(market_pct: number): number {
	return 100 / (100 - market_pct);
}

/**
 * Weight a buyer pays for: a rate for each point above the market's moisture and a handling share on top. It is the
 * buyer's rule (pencil shrink), not a physical weight, and never enters yields.
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
