/** Medians and spreads of plain lists; NaN in an empty one. */

/** Value at share `q` (0…1) of the sorted list, linear between neighbours. */
export function quantile(values: ArrayLike<number>, q: number): number {
	const sorted = Float64Array.from(values).sort();
	const n = sorted.length;
	if (n === 0) return Number.NaN;
	const at = (n - 1) * q;
	const low = Math.floor(at);
	const high = Math.min(n - 1, low + 1);
	return sorted[low]! + (at - low) * (sorted[high]! - sorted[low]!);
}

export function median(values: ArrayLike<number>): number {
	return quantile(values, 0.5);
}

/** Spread from the median absolute deviation, scaled to the standard deviation of normal values. */
export function spread(values: ArrayLike<number>, middle = median(values)): number {
	return 1.4826 * median(Float64Array.from(values, (v) => Math.abs(v - middle)));
}
