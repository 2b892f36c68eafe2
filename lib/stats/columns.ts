/**
 * A column of numbers, one for each entry of a list. `Float64Array.from` with a function asks an iterator for every
 * entry, which takes fifty times as long.
 */
export function columnOf<T>(list: ArrayLike<T>, value: (entry: T, at: number) => number): Float64Array {
	const column = new Float64Array(list.length);
	for (let i = 0; i < column.length; i++) column[i] = value(list[i]!, i);
	return column;
}

/** √(a² + b²). `Math.hypot` also guards against overflow, which no length or error here is near, and takes thirty times as long. */
export function hypotenuse(a: number, b: number): number {
	return Math.sqrt(a * a + b * b);
}
