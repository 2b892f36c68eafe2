/** The members of a list by a key, in their order; groups in the order of their first members. */
export function groupBy<T, K>(list: Iterable<T>, key: (member: T) => K): Map<K, T[]> {
	const groups = new Map<K, T[]>();
	for (const member of list) {
		const of = key(member);
		const group = groups.get(of);
		if (group) group.push(member);
		else groups.set(of, [member]);
	}
	return groups;
}

/** The value that occurs most often, the first of several; undefined without any. */
export function mode<T>(values: Iterable<T>): T | undefined {
	const counts = new Map<T, number>();
	for (const value of values) counts.set(value, (counts.get(value) ?? 0) + 1);
	let most: T | undefined;
	for (const [value, count] of counts) if (count > (counts.get(most as T) ?? 0)) most = value;
	return most;
}
