import { median } from '../stats/index.ts';
import type { Signal } from './signal.ts';

/** A stretch of samples over which the weight rises (+1) or falls (−1). */
export interface Transfer {
	sign: number;
	from: number;
	to: number;
}

/** Half the window over which a slope is measured, seconds; at least three samples. */
const WINDOW_S = 8;
/** Grain moves at least this fast, kg/s (common practice: unloading augers give 40 to 150). */
const SLOWEST_KG_S = 22;
/** Smaller changes are jolts, drift or a zeroing, kg. */
export const LEAST_KG = 250;

/** Sustained rises and falls of the weight, in order of time. */
export function findTransfers(signal: Signal): Transfer[] {
	const { time_s, moving } = signal;
	const slope = slopeSigns(signal);
	const runs: Transfer[] = [];
	for (let i = 0; i < slope.length; i++) {
		const sign = slope[i]!;
		if (sign === 0) continue;
		const last = runs[runs.length - 1];
		// A transfer may look steady for a moment, longer on the move; real pauses are found below as plateaus.
		const lapse_s = moving[i] === 1 ? 14 : 6;
		if (last && last.sign === sign && time_s[i]! - time_s[last.to]! <= lapse_s) last.to = i;
		else runs.push({ sign, from: i, to: i });
	}
	return runs.flatMap((run) => splitAtPauses(signal, run));
}

/** At each sample: +1 rising, −1 falling, 0 steady, by the medians of a window before and one after. */
function slopeSigns({ n, time_s, weight_kg, moving, standing_u_kg, moving_u_kg }: Signal): Int8Array {
	const out = new Int8Array(n);
	const step_s = median(Float64Array.from({ length: n - 1 }, (_, i) => time_s[i + 1]! - time_s[i]!));
	const half = Math.max(3, Math.round(WINDOW_S / Math.max(0.1, step_s)));
	for (let i = 0; i < n; i++) {
		const a = Math.max(0, i - half);
		const b = Math.min(n - 1, i + half);
		if (i - a < 2 || b - i < 2) continue;
		const before = median(weight_kg.subarray(a, i));
		const after = median(weight_kg.subarray(i + 1, b + 1));
		const apart_s = (time_s[b]! + time_s[i + 1]! - time_s[i - 1]! - time_s[a]!) / 2;
		// A median's variance is 1.57 times that of a mean; two of them are compared.
		const u = (moving[i] === 1 ? moving_u_kg : standing_u_kg) * Math.sqrt((2 * 1.57) / half);
		const limit = Math.max(SLOWEST_KG_S * apart_s, 4 * u);
		const rise = after - before;
		out[i] = rise > limit ? 1 : rise < -limit ? -1 : 0;
	}
	return out;
}

/** Splits a rise into two dumps where the weight holds steady for some seconds between them. */
function splitAtPauses(signal: Signal, run: Transfer): Transfer[] {
	const { time_s, weight_kg, moving } = signal;
	const rate = Math.abs(weight_kg[run.to]! - weight_kg[run.from]!) / Math.max(1, time_s[run.to]! - time_s[run.from]!);
	for (let i = run.from + 3; i < run.to - 3; i++) {
		let j = i;
		while (j < run.to - 3 && time_s[j + 1]! - time_s[i]! <= 8) j++;
		if (time_s[j]! - time_s[i]! < 5 || j - i < 2) continue;
		// On the move, a jolt against the rise looks like a pause.
		if (moving[i] === 1 || moving[j] === 1) continue;
		if (Math.abs(weight_kg[j]! - weight_kg[i]!) / (time_s[j]! - time_s[i]!) > 0.12 * rate) continue;
		const first_kg = Math.abs(weight_kg[i]! - weight_kg[run.from]!);
		const second_kg = Math.abs(weight_kg[run.to]! - weight_kg[j]!);
		if (first_kg < LEAST_KG || second_kg < LEAST_KG) continue;
		return [{ ...run, to: i }, ...splitAtPauses(signal, { ...run, from: j })];
	}
	return [run];
}

/** First and last sample of a transfer: where the weight leaves one level and reaches the other. */
export function edges({ weight_kg }: Signal, run: Transfer, floor: number, ceiling: number): Transfer {
	// The slope's window reaches over both edges: the transfer lies within the run, or a little beyond.
	const reach = 4;
	const a = Math.max(floor, run.from - reach);
	const b = Math.min(ceiling, run.to + reach);
	const low = median(weight_kg.subarray(Math.max(floor, a - 6), a + 1));
	const high = median(weight_kg.subarray(b, Math.min(ceiling, b + 6) + 1));
	const change = high - low;
	// To within 3 % of the level, and on while the weight still changes at a quarter of the usual rate.
	const pace = Math.abs(weight_kg[run.to]! - weight_kg[run.from]!) / Math.max(1, run.to - run.from);
	const continues = (i: number): boolean => (weight_kg[i + 1]! - weight_kg[i]!) * run.sign > 0.25 * pace;
	let from = run.from;
	let to = b;
	for (let i = a; i < b; i++) {
		if ((weight_kg[i]! - low) / change < 0.03) from = i;
		if ((weight_kg[i]! - low) / change > 0.97) {
			to = i;
			break;
		}
	}
	while (to < b && continues(to)) to++;
	while (from > a && continues(from - 1)) from--;
	return { sign: run.sign, from: Math.min(from, to - 1), to };
}
