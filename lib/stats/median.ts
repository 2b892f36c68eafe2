/** Scratch for short lists: an array made for each of a map's segments would take longer than its median. */
const SHORT = new Float64Array(64);

/** Median of the finite values; NaN without any. */
export function median(values: ArrayLike<number>): number {
	const finite = room(values.length);
	const n = keepFinite(values, finite);
	if (n === 0) return Number.NaN;
	const half = n >> 1;
	select(finite, n, half);
	if (n % 2) return finite[half]!;
	let below = finite[0]!;
	for (let i = 1; i < half; i++) if (finite[i]! > below) below = finite[i]!;
	return (below + finite[half]!) / 2;
}

/** The finite value that half of the others, rounded down, sort before; NaN without any. */
export function upperMedian(values: ArrayLike<number>): number {
	const finite = room(values.length);
	const n = keepFinite(values, finite);
	if (n === 0) return Number.NaN;
	select(finite, n, n >> 1);
	return finite[n >> 1]!;
}

/** The value that would stand at place `k` if the values were sorted, from 0. They are rearranged; NaN is not allowed. */
export function atPlace(values: Float64Array, k: number): number {
	select(values, values.length, k);
	return values[k]!;
}

/** As `quantile`, of values in any order: NaN and infinities are left out. */
export function quantileOf(values: ArrayLike<number>, p: number): number {
	const finite = room(values.length);
	const n = keepFinite(values, finite);
	if (n === 0) return Number.NaN;
	const at = p * (n - 1);
	const low = Math.floor(at);
	select(finite, n, low);
	const value = finite[low]!;
	if (at === low) return value;
	let next = Infinity;
	for (let i = low + 1; i < n; i++) if (finite[i]! < next) next = finite[i]!;
	return value + (at - low) * (next - value);
}

function room(n: number): Float64Array {
	return n <= SHORT.length ? SHORT : new Float64Array(n);
}

function keepFinite(values: ArrayLike<number>, finite: Float64Array): number {
	let n = 0;
	for (let i = 0; i < values.length; i++) if (Number.isFinite(values[i]!)) finite[n++] = values[i]!;
	return n;
}

/**
 * Rearranges the first `n` values so that the one at `k` is the one that sorting would put there, none before it is
 * larger, none after it smaller.
 *
 * Source: C. A. R. Hoare, *Algorithm 65: Find*, CACM 4 (1961), with the middle of three as pivot.
 */
function select(values: Float64Array, n: number, k: number): void {
	let low = 0;
	let high = n - 1;
	while (high - low > 12) {
		const a = values[low]!;
		const b = values[(low + high) >> 1]!;
		const c = values[high]!;
		const pivot = Math.max(Math.min(a, b), Math.min(Math.max(a, b), c));
		let i = low;
		let j = high;
		while (i <= j) {
			while (values[i]! < pivot) i++;
			while (values[j]! > pivot) j--;
			if (i > j) break;
			const swapped = values[i]!;
			values[i++] = values[j]!;
			values[j--] = swapped;
		}
		if (k <= j) high = j;
		else if (k >= i) low = i;
		else return;
	}
	for (let i = low + 1; i <= high; i++) {
		const value = values[i]!;
		let at = i;
		while (at > low && values[at - 1]! > value) {
			values[at] = values[at - 1]!;
			at--;
		}
		values[at] = value;
	}
}

/**
 * Median absolute deviation from the median × 1.4826, which estimates a normal standard deviation.
 *
 * Source: R, `stats::mad`.
 *
 * The median is 2, the deviations 0 0 1 1 2 4 7:
 *
 * @example
 * ```js
 * mad([1, 1, 2, 2, 4, 6, 9]); // → 1.4826
 * ```
 */
export function mad(values: ArrayLike<number>, center = median(values)): number {
	const off = new Float64Array(values.length);
	for (let i = 0; i < off.length; i++) off[i] = Math.abs(values[i]! - center);
	return 1.4826 * median(off);
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
