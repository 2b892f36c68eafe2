/** Index of the first of ascending values, between `from` and `to`, that is not below x; `to` where there is none. */
export function firstFrom(values: ArrayLike<number>, x: number, from = 0, to = values.length): number {
	let [low, high] = [from, to];
	while (low < high) {
		const middle = (low + high) >> 1;
		if (values[middle]! < x) low = middle + 1;
		else high = middle;
	}
	return low;
}

/** Index of the first of ascending values, between `from` and `to`, that is above x; `to` where there is none. */
export function firstAbove(values: ArrayLike<number>, x: number, from = 0, to = values.length): number {
	let [low, high] = [from, to];
	while (low < high) {
		const middle = (low + high) >> 1;
		if (values[middle]! <= x) low = middle + 1;
		else high = middle;
	}
	return low;
}
