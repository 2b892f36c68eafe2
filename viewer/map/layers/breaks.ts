/** Breaks between the colors of a legend. */
import { ckmeans } from 'simple-statistics';

export type BreakMode = 'smooth' | 'equal' | 'quantile' | 'natural';

/** Up to `most` finite values, sorted; every k-th is taken, so that the same data give the same breaks. */
export function sortedSample(values: ArrayLike<number>, most = 20_000): Float64Array {
	let count = 0;
	for (let i = 0; i < values.length; i++) if (Number.isFinite(values[i])) count++;
	const step = Math.max(1, Math.ceil(count / most));
	const out = new Float64Array(Math.ceil(count / step));
	let seen = 0;
	let k = 0;
	for (let i = 0; i < values.length; i++) {
		const v = values[i]!;
		if (!Number.isFinite(v)) continue;
		if (seen++ % step === 0) out[k++] = v;
	}
	return out.subarray(0, k).sort();
}

export const quantileOf = (sorted: ArrayLike<number>, p: number): number =>
	sorted[Math.min(sorted.length - 1, Math.max(0, Math.round(p * (sorted.length - 1))))] ?? Number.NaN;

/**
 * Break values, ends included: two for a smooth scale, classes + 1 otherwise. The ends leave out the outermost percent on
 * both sides; values beyond get the end color.
 *
 * @param symmetric - for a diverging scale: as far below zero as above
 */
export function breaksFor(sorted: Float64Array, mode: BreakMode, classes: number, symmetric: boolean): number[] {
	if (sorted.length === 0) return [0, 1];
	let low = quantileOf(sorted, 0.01);
	let high = quantileOf(sorted, 0.99);
	if (symmetric) {
		high = Math.max(Math.abs(low), Math.abs(high), 1);
		low = -high;
	}
	if (!(high > low)) {
		const half = Math.max(Math.abs(low) * 0.01, 0.5);
		low -= half;
		high += half;
	}
	if (mode === 'smooth') return [low, high];
	if (mode === 'equal') return Array.from({ length: classes + 1 }, (_, i) => low + ((high - low) * i) / classes);
	const inside = Array.from(sorted).filter((v) => v >= low && v <= high);
	if (mode === 'quantile') {
		return ascending(
			Array.from({ length: classes + 1 }, (_, i) =>
				i === 0 ? low : i === classes ? high : quantileOf(inside, i / classes),
			),
		);
	}
	// Natural breaks cost n² · classes; a sample of a thousand is enough for a legend.
	const few = inside.filter((_, i) => i % Math.max(1, Math.ceil(inside.length / 1000)) === 0);
	if (new Set(few).size <= classes) return breaksFor(sorted, 'equal', classes, symmetric);
	const clusters = ckmeans(few, classes);
	return ascending([low, ...clusters.slice(1).map((c, i) => (c[0]! + clusters[i]!.at(-1)!) / 2), high]);
}

/** Makes breaks strictly ascending, so that no two handles coincide. */
function ascending(breaks: number[]): number[] {
	const width = (breaks.at(-1)! - breaks[0]!) / 1000;
	return breaks.map((b, i) => (i > 0 && b <= breaks[i - 1]! ? breaks[i - 1]! + width : b));
}

/** Moves one break, keeping it between its neighbors. */
export function moveBreak(breaks: number[], index: number, to: number): number[] {
	const gap = (breaks.at(-1)! - breaks[0]!) / 200;
	const low = index > 0 ? breaks[index - 1]! + gap : -Infinity;
	const high = index < breaks.length - 1 ? breaks[index + 1]! - gap : Infinity;
	return breaks.map((b, i) => (i === index ? Math.min(high, Math.max(low, to)) : b));
}

/** Share of the finite values per bin; values beyond the ends count in the end bins. */
export function histogram(values: ArrayLike<number>, low: number, high: number, bins: number): Float64Array {
	const out = new Float64Array(bins);
	for (let i = 0; i < values.length; i++) {
		const v = values[i]!;
		if (!Number.isFinite(v)) continue;
		const k = Math.floor(((v - low) / (high - low)) * bins);
		out[Math.min(bins - 1, Math.max(0, k))]!++;
	}
	return out;
}
