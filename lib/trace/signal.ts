import type { WeightTrace } from '../model/index.ts';
import { mad, median, quantile } from '../stats/index.ts';

/** A cart's weight against time, usable samples only, in order of time: columns of length `n`. */
export interface Signal {
	n: number;
	/** The cart's own clock. */
	time_s: Float64Array;
	weight_kg: Float64Array;
	/** 1 while the cart moves, 0 while it stands, −1 unknown. */
	moving: Int8Array;
	/** Index of each sample in the trace. */
	sample: Int32Array;
	/** Standard deviation of one sample about a steady weight, while standing and while moving. */
	standing_u_kg: number;
	moving_u_kg: number;
}

/** Samples on either side by which a moving cart is recognized from its weight alone. */
const REACH = 5;
/** Samples farther apart than this are not neighbors, seconds. */
const GAP_S = 32;
/** Standard deviation of a sample where there are too few samples to estimate it, kg (common practice, no source). */
const USUAL_U_KG = 20;
/** No scale repeats better than this, kg (common practice, no source). */
const LEAST_U_KG = 3;

/** Sorts a trace by time and estimates its noise. Samples without time or weight are left out. */
export function signalOf(trace: WeightTrace): Signal {
	const sample = Int32Array.from({ length: trace.n }, (_, i) => i)
		.filter((i) => Number.isFinite(trace.weight_kg[i]!) && Number.isFinite(trace.time_s[i]!))
		.sort((a, b) => trace.time_s[a]! - trace.time_s[b]! || a - b);
	const time_s = Float64Array.from(sample, (i) => trace.time_s[i]!);
	const weight_kg = Float64Array.from(sample, (i) => trace.weight_kg[i]!);
	const recorded = Int8Array.from(sample, (i) => trace.moving[i]!);
	const moving = recorded.some((m) => m >= 0) ? recorded : inferMoving(weight_kg);
	return { n: sample.length, time_s, weight_kg, moving, sample, ...noise(time_s, weight_kg, moving) };
}

/** Where the indicator does not record whether the cart moves, the roughness of its weight shows it. */
function inferMoving(weight_kg: Float64Array): Int8Array {
	const n = weight_kg.length;
	const rough = new Float64Array(n);
	for (let i = 1; i + 1 < n; i++) rough[i] = Math.abs(weight_kg[i + 1]! - 2 * weight_kg[i]! + weight_kg[i - 1]!);
	const local = Float64Array.from(rough, (_, i) =>
		median(rough.subarray(Math.max(0, i - REACH), Math.min(n, i + REACH + 1))),
	);
	const quiet = Math.max(4, quantile(local.slice().sort(), 0.3));
	return Int8Array.from(local, (r) => (r > 4 * quiet ? 1 : 0));
}

function noise(
	time_s: Float64Array,
	weight_kg: Float64Array,
	moving: Int8Array,
): Pick<Signal, 'standing_u_kg' | 'moving_u_kg'> {
	const standing: number[] = [];
	const shaken: number[] = [];
	for (let i = 1; i + 1 < weight_kg.length; i++) {
		if (time_s[i + 1]! - time_s[i - 1]! > GAP_S) continue;
		// A second difference is free of a steady rise; its variance is six times that of one sample.
		const d = (weight_kg[i + 1]! - 2 * weight_kg[i]! + weight_kg[i - 1]!) / Math.sqrt(6);
		(moving[i] === 1 ? shaken : standing).push(d);
	}
	const standing_u_kg = Math.max(LEAST_U_KG, standing.length > 20 ? mad(standing, 0) : USUAL_U_KG);
	// Jolts have longer tails than the MAD shows.
	const moving_u_kg = Math.max(standing_u_kg, shaken.length > 20 ? 1.4 * mad(shaken, 0) : 4 * standing_u_kg);
	return { standing_u_kg, moving_u_kg };
}
