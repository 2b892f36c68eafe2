import type { LogRows } from '../model.ts';

/** Rows with the same time stamp side by side: sections of one header. */
export interface Sections {
	/** First row of each row's group; a single row is its own first. */
	first: Int32Array;
	/** Rows per group, usually. */
	count: number;
}

/** A header is no wider than this, meters, allowing for position noise. */
const WIDEST_M = 22;

/**
 * Distinguishes sections from machines: sections keep their relative positions, machines move apart. Null if most rows
 * have a time stamp of their own, or if rows of the same time stamp lie apart.
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
	// All at one place: sections only if a column says so, otherwise copies.
	if (at(0.9) < 0.05) return sectionColumn ? { first, count } : null;
	across.sort((a, b) => a - b);
	const rigid = at(0.9) - at(0.1) < Math.max(1.5, 0.3 * at(0.5));
	const sideways = (across.filter(Number.isFinite)[across.length >> 1] ?? 1) > 0.7;
	return rigid && sideways ? { first, count } : null;
}

/** Center of each group's positions, at its first row. */
export function centers(v: Float64Array, first: Int32Array | null): Float64Array {
	if (first === null) return v;
	const sum = new Float64Array(v.length);
	const count = new Float64Array(v.length);
	for (let i = 0; i < v.length; i++) {
		const f = first[i] as number;
		sum[f] = (sum[f] as number) + (v[i] as number);
		count[f] = (count[f] as number) + 1;
	}
	return v.map((x, i) => (count[i] === 0 ? x : (sum[i] as number) / (count[i] as number)));
}

/** A section's rows share the time of their group's first row. */
export function spread(v: Float64Array, first: Int32Array | null): Float64Array {
	return first === null ? v : v.map((_, i) => v[first[i] as number] as number);
}

/** One record per group: total width, sum of masses, center of positions; averages are weighted by ground and grain. */
export function joinSections(log: LogRows, first: Int32Array): void {
	const width = new Float64Array(log.n);
	const mean: Float64Array[] = [log.lat_deg, log.lon_deg, log.x_m, log.y_m];
	const sums = mean.map((v) => v.slice());
	const counts = new Float64Array(log.n).fill(1);
	const wet = new Float64Array(log.n);
	const water = new Float64Array(log.n);
	for (let i = 0; i < log.n; i++) {
		const f = first[i] as number;
		const w = log.swath_m[i] as number;
		const flow = log.flow_kg_s[i] as number;
		if (w > 0) width[f] = (width[f] as number) + w;
		if (flow > 0 && (log.moisture_pct[i] as number) > 0) {
			wet[f] = (wet[f] as number) + flow;
			water[f] = (water[f] as number) + flow * (log.moisture_pct[i] as number);
		}
		if (f === i) continue;
		log.keep[i] = 0;
		counts[f] = (counts[f] as number) + 1;
		sums.forEach((s, k) => {
			s[f] = (s[f] as number) + (mean[k]![i] as number);
		});
		if (Number.isFinite(flow)) log.flow_kg_s[f] = (log.flow_kg_s[f] || 0) + flow;
		if (log.header[i] === 1) log.header[f] = 1;
	}
	for (let f = 0; f < log.n; f++) {
		if (first[f] !== f) continue;
		mean.forEach((v, k) => {
			v[f] = (sums[k]![f] as number) / (counts[f] as number);
		});
		log.swath_m[f] = width[f] as number;
		if ((wet[f] as number) > 0) log.moisture_pct[f] = (water[f] as number) / (wet[f] as number);
	}
}
