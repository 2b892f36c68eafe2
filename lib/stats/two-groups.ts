/** How far something is off, relative, and its weight in a mean. */
export interface Off {
	rel: number;
	by: number;
}

/**
 * The division of values into a low and a high group that scatter least about their own means.
 *
 * @param least - fewest values of a group
 * @returns the least value of the high group, and the share of all scatter that lies between the groups; null with too few values
 */
export function twoGroups(values: readonly Off[], least = 1): { from: number; explained: number } | null {
	const sorted = values.toSorted((a, b) => a.rel - b.rel);
	const weight = sorted.reduce((sum, v) => sum + v.by, 0);
	const mean = sorted.reduce((sum, v) => sum + v.by * v.rel, 0) / weight;
	const total = sorted.reduce((sum, v) => sum + v.by * (v.rel - mean) ** 2, 0);
	let [by, low] = [0, 0];
	let best: ReturnType<typeof twoGroups> = null;
	sorted.forEach((v, n) => {
		const between = (low ** 2 * weight) / (by * (weight - by));
		if (n >= least && n <= sorted.length - least && !(between <= (best?.explained ?? -1) * total))
			best = { from: v.rel, explained: between / total };
		by += v.by;
		low += v.by * (v.rel - mean);
	});
	return best;
}
