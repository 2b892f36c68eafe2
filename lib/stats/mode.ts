/** The value that occurs most often, the first of several; undefined without any. */
export function mode<T>(values: Iterable<T>): T | undefined {
	const counts = new Map<T, number>();
	for (const value of values) counts.set(value, (counts.get(value) ?? 0) + 1);
	let most: T | undefined;
	for (const [value, count] of counts) if (count > (counts.get(most as T) ?? 0)) most = value;
	return most;
}
