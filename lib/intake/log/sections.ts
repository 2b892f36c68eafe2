/** Rows of one time stamp that stand side by side: sections of one header. */
export interface Sections {
	/** First row of each row's group; a row of its own is its own first. */
	first: Int32Array;
	/** Rows of the usual group. */
	count: number;
}

/** A header is no wider than this, metres, with room for the noise of positions. */
const WIDEST_M = 22;

/**
 * Tells sections from machines: sections keep their places to each other all along, machines part. Null where most
 * rows have a time stamp of their own, or where rows of one time stamp lie apart.
 */
export function findSections(
	time_s: Float64Array,
	x_m: Float64Array,
	y_m: Float64Array,
	group: readonly string[] | null,
	sectionColumn: boolean,
): Sections | null {
	const n = time_s.length;
	const first = Int32Array.from({ length: n }, (_, i) => i);
	const sizes: number[] = [];
	const spans: number[] = [];
	const across: number[] = [];
	for (let i = 0; i < n; ) {
		let j = i + 1;
		while (j < n && time_s[j] === time_s[i] && (group === null || group[j] === group[i])) first[j++] = i;
		sizes.push(j - i);
		if (j - i > 1) {
			spans.push(Math.hypot((x_m[j - 1] as number) - (x_m[i] as number), (y_m[j - 1] as number) - (y_m[i] as number)));
			const ahead =
				j < n
					? Math.atan2((y_m[j] as number) - (y_m[i] as number), (x_m[j] as number) - (x_m[i] as number))
					: Number.NaN;
			const side = Math.atan2((y_m[i + 1] as number) - (y_m[i] as number), (x_m[i + 1] as number) - (x_m[i] as number));
			across.push(Math.abs(Math.sin(ahead - side)));
		}
		i = j;
	}
	if (sizes.filter((s) => s > 1).length < 0.6 * sizes.length) return null;
	const count = [...sizes].sort((a, b) => a - b)[sizes.length >> 1] as number;
	spans.sort((a, b) => a - b);
	const at = (share: number) => spans[Math.floor(share * (spans.length - 1))] as number;
	if (at(0.9) > WIDEST_M) return null;
	// All in one place: sections only where a column says so, copies otherwise.
	if (at(0.9) < 0.05) return sectionColumn ? { first, count } : null;
	across.sort((a, b) => a - b);
	const rigid = at(0.9) - at(0.1) < Math.max(1.5, 0.3 * at(0.5));
	const sideways = (across.filter(Number.isFinite)[across.length >> 1] ?? 1) > 0.7;
	return rigid && sideways ? { first, count } : null;
}
