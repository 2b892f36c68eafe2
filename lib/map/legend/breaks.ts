import { ckmeans } from 'simple-statistics';
import { quantile } from '../../stats/index.ts';

/** Methods of dividing values into classes. */
export type BreakKind = 'equal' | 'quantile' | 'natural';

/** Most values used for natural breaks, whose cost grows faster than the number of values. */
const MOST_FOR_NATURAL = 4000;

/**
 * Breaks of a legend: `classes` + 1 edges in ascending order, from the least to the greatest finite value.
 *
 * - `equal`: classes of equal width
 * - `quantile`: classes of equal count (quantiles by linear interpolation, R's type 7)
 * - `natural`: classes whose members differ least among themselves (Jenks; Wang and Song 2011, Ckmeans.1d.dp);
 *   with more than 4,000 values, of 4,000 evenly spaced sorted ones. Each inner edge is halfway between two
 *   classes.
 *
 * With fewer distinct values than classes there are fewer classes; without values there are no edges.
 */
export function breaks(values: ArrayLike<number>, kind: BreakKind, classes: number): number[] {
	const sorted = Float64Array.from(values).filter(Number.isFinite).sort();
	if (sorted.length === 0) return [];
	const least = sorted[0]!;
	const most = sorted[sorted.length - 1]!;
	if (least === most) return [least, most];
	let inner: number[];
	if (kind === 'equal') inner = inside(classes, (k) => least + ((most - least) * k) / classes);
	else if (kind === 'quantile') inner = inside(classes, (k) => quantile(sorted, k / classes));
	else inner = naturalEdges(sorted, classes);
	return [least, ...inner, most].filter((edge, k, all) => k === 0 || edge > all[k - 1]!);
}

const inside = (classes: number, edge: (k: number) => number) =>
	Array.from({ length: classes - 1 }, (_, k) => edge(k + 1));

function naturalEdges(sorted: Float64Array, classes: number): number[] {
	const sample = thinned(sorted, MOST_FOR_NATURAL);
	const different = new Set(sample).size;
	const clusters = ckmeans(sample, Math.min(classes, different));
	return clusters.slice(1).map((cluster, k) => (clusters[k]!.at(-1)! + cluster[0]!) / 2);
}

function thinned(sorted: Float64Array, most: number): number[] {
	if (sorted.length <= most) return [...sorted];
	return Array.from({ length: most }, (_, k) => sorted[Math.round((k * (sorted.length - 1)) / (most - 1))]!);
}

/** Class of a value: 0 … edges − 2; −1 for NaN. Values beyond the ends belong to the end classes. */
export function classOf(value: number, edges: readonly number[]): number {
	if (!Number.isFinite(value) || edges.length < 2) return -1;
	let k = 0;
	while (k < edges.length - 2 && value >= edges[k + 1]!) k++;
	return k;
}
