import { quantileOf, upperMedian } from '../../stats/median.ts';
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
			spans.push(Math.hypot(x_m[j - 1]! - x_m[i]!, y_m[j - 1]! - y_m[i]!));
			const ahead = j < n ? Math.atan2(y_m[j]! - y_m[i]!, x_m[j]! - x_m[i]!) : Number.NaN;
			const side = Math.atan2(y_m[i + 1]! - y_m[i]!, x_m[i + 1]! - x_m[i]!);
			across.push(Math.abs(Math.sin(ahead - side)));
		}
		i = j;
	}
	if (sizes.filter((s) => s > 1).length < 0.6 * sizes.length) return null;
	const count = upperMedian(sizes);
	const at = (share: number) => quantileOf(spans, share);
	if (at(0.9) > WIDEST_M) return null;
	// All at one place: sections only if a column numbers them, otherwise copies.
	if (at(0.9) < 0.05) return sectionColumn ? { first, count } : null;
	const rigid = at(0.9) - at(0.1) < Math.max(1.5, 0.3 * at(0.5));
	const sideways = !(upperMedian(across) <= 0.7);
	return rigid && sideways ? { first, count } : null;
}

/** Center of each group's positions, at its first row. */
export function centers(v: Float64Array, first: Int32Array | null): Float64Array {
	if (first === null) return v;
	const sum = new Float64Array(v.length);
	const count = new Float64Array(v.length);
	for (let i = 0; i < v.length; i++) {
		const f = first[i]!;
		sum[f] = sum[f]! + v[i]!;
		count[f] = count[f]! + 1;
	}
	return v.map((x, i) => (count[i] === 0 ? x : sum[i]! / count[i]!));
}

/** A section's rows share the time of their group's first row. */
export function spread(v: Float64Array, first: Int32Array | null): Float64Array {
	return first === null ? v : v.map((_, i) => v[first[i]!]!);
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
		const f = first[i]!;
		const w = log.swath_m[i]!;
		const flow = log.flow_kg_s[i]!;
		if (w > 0) width[f] = width[f]! + w;
		if (flow > 0 && log.moisture_pct[i]! > 0) {
			wet[f] = wet[f]! + flow;
			water[f] = water[f]! + flow * log.moisture_pct[i]!;
		}
		if (f === i) continue;
		log.keep[i] = 0;
		counts[f] = counts[f]! + 1;
		sums.forEach((s, k) => {
			s[f] = s[f]! + mean[k]![i]!;
		});
		if (Number.isFinite(flow)) log.flow_kg_s[f] = (log.flow_kg_s[f] || 0) + flow;
		if (log.header[i] === 1) log.header[f] = 1;
	}
	for (let f = 0; f < log.n; f++) {
		if (first[f] !== f) continue;
		mean.forEach((v, k) => {
			v[f] = sums[k]![f]! / counts[f]!;
		});
		log.swath_m[f] = width[f]!;
		if (wet[f]! > 0) log.moisture_pct[f] = water[f]! / wet[f]!;
	}
}
