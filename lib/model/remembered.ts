/** What a map holds under a key; made and kept the first time that it is asked for. */
export function remembered<K, V>(
	map: { get(key: K): V | undefined; set(key: K, value: V): unknown },
	key: K,
	make: () => V,
): V {
	const known = map.get(key);
	if (known !== undefined) return known;
	const made = make();
	map.set(key, made);
	return made;
}
