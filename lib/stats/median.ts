/** Median of the finite values; NaN without any. */
export function median(values: ArrayLike<number>): number {
	const finite = new Float64Array(values.length);
	let n = 0;
	for (let i = 0; i < values.length; i++) {
		const v = values[i]!;
		if (Number.isFinite(v)) finite[n++] = v;
	}
	if (n === 0) return Number.NaN;
	const high = select(finite, n, n >> 1);
	if (n % 2) return high;
	let low = finite[0]!;
	for (let i = 1; i < n >> 1; i++) if (finite[i]! > low) low = finite[i]!;
	return (low + high) / 2;
}

/**
 * The k-th smallest of the first n values, which are moved so that none before place k is larger and none after it
 * smaller. Source: Hoare 1961, *Communications of the ACM* 4:321, algorithm 65.
 */
function select(values: Float64Array, n: number, k: number): number {
	let from = 0;
	let to = n - 1;
	while (from < to) {
		const a = values[from]!;
		const b = values[(from + to) >> 1]!;
		const c = values[to]!;
		const pivot = Math.max(Math.min(a, b), Math.min(Math.max(a, b), c));
		let i = from;
		let j = to;
		while (i <= j) {
			while (values[i]! < pivot) i++;
			while (values[j]! > pivot) j--;
			if (i > j) break;
			const v = values[i]!;
			values[i++] = values[j]!;
			values[j--] = v;
		}
		if (k <= j) to = j;
		else if (k >= i) from = i;
		else break;
	}
	return values[k]!;
}

/**
 * Median absolute deviation from the median × 1.4826, which estimates a normal standard deviation.
 *
 * Source: R, `stats::mad`.
 *
 * @example mad([1, 1, 2, 2, 4, 6, 9]) // 1.4826 (median 2, deviations 0 0 1 1 2 4 7)
 */
export function mad(values: ArrayLike<number>, centre = median(values)): number {
	const off = new Float64Array(values.length);
	for (let i = 0; i < values.length; i++) off[i] = Math.abs(values[i]! - centre);
	return 1.4826 * median(off);
}

/**
 * Weighted median: the value at which half of the weight lies on either side (the lower and upper one averaged
 * where the half falls exactly between two). Values that are not finite and weights ≤ 0 do not count.
 *
 * @example weightedMedian([1, 2, 3], [1, 1, 10]) // 3
 */
export function weightedMedian(values: ArrayLike<number>, weight: ArrayLike<number>): number {
	const order: number[] = [];
	let total = 0;
	for (let i = 0; i < values.length; i++) {
		if (!Number.isFinite(values[i]!) || !(weight[i]! > 0)) continue;
		order.push(i);
		total += weight[i]!;
	}
	if (order.length === 0) return Number.NaN;
	order.sort((a, b) => values[a]! - values[b]!);
	let sum = 0;
	for (let k = 0; k < order.length; k++) {
		sum += weight[order[k]!]!;
		if (Math.abs(sum - total / 2) < 1e-12 * total && k + 1 < order.length) {
			return (values[order[k]!]! + values[order[k + 1]!]!) / 2;
		}
		if (sum > total / 2) return values[order[k]!]!;
	}
	return values[order.at(-1)!]!;
}

/** Quantile by linear interpolation between order statistics (R's type 7); NaN without values. */
export function quantile(sorted: ArrayLike<number>, p: number): number {
	const n = sorted.length;
	if (n === 0) return Number.NaN;
	const at = p * (n - 1);
	const low = Math.floor(at);
	const high = Math.min(n - 1, low + 1);
	return sorted[low]! + (at - low) * (sorted[high]! - sorted[low]!);
}
