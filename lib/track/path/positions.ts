/** Bad positions of one combine's track: missing, jumping or repeated ones are marked and filled in. */
import { hypotenuse, median } from '../../stats/index.ts';

/** Positions are not interpolated over a longer gap in time, seconds. */
export const BRIDGE_S = 30;

/** Median speed of the moving records, m/s; a receiver that gives each position several times moves between two of them. */
export function usualPace(t: Float64Array, x: Float64Array, y: Float64Array): number {
	const speeds: number[] = [];
	let from = 0;
	for (let k = 1; k < t.length; k++) {
		if (x[k] === x[from] && y[k] === y[from]) continue;
		const dt = t[k]! - t[from]!;
		const v = hypotenuse(x[k]! - x[from]!, y[k]! - y[from]!) / dt;
		if (dt > 0 && dt < BRIDGE_S && v > 0.3 && v < 12) speeds.push(v);
		from = k;
	}
	return speeds.length === 0 ? 1.5 : median(speeds);
}

/** Mark of a position that only repeats the one before while the machine moved on. */
export const REPEATED = 2;

/** Marks missing positions and jumps (single ones and short runs) by 1, and repeats. */
export function badPlaces(t: Float64Array, x: Float64Array, y: Float64Array, pace: number): Uint8Array {
	const n = t.length;
	const bad = new Uint8Array(n);
	for (let k = 0; k < n; k++) if (!Number.isFinite(x[k]!) || !Number.isFinite(y[k]!)) bad[k] = 1;
	// Repeats: one position over and over, then a step as long as the machine would need the whole time for.
	for (let k = 1; k < n; ) {
		if (bad[k] || x[k] !== x[k - 1] || y[k] !== y[k - 1]) {
			k++;
			continue;
		}
		let last = k;
		while (last + 1 < n && x[last + 1] === x[k] && y[last + 1] === y[k]) last++;
		if (last + 1 < n && !bad[last + 1]) {
			const step = hypotenuse(x[last + 1]! - x[k]!, y[last + 1]! - y[k]!);
			const alone = step / Math.max(1e-3, t[last + 1]! - t[last]!);
			const whole = step / Math.max(1e-3, t[last + 1]! - t[k - 1]!);
			if (alone > 1.7 * pace && whole < 2 * pace) bad.fill(REPEATED, k, last + 1);
		}
		k = last + 1;
	}
	// Jumps: farther from the last good position than a machine can get. A new position that lasts is accepted.
	const fastest = Math.max(4, 3 * pace);
	let good = -1;
	let refused = 0;
	let restart = -1;
	for (let k = 0; k < n; k++) {
		if (bad[k]) continue;
		if (good >= 0) {
			const reach = fastest * Math.max(0, t[k]! - t[good]!) + 4;
			if (hypotenuse(x[k]! - x[good]!, y[k]! - y[good]!) > reach) {
				if (refused === 0) restart = k;
				refused++;
				bad[k] = 1;
				if (refused < 8) continue;
				// Eight in a row agree: the machine was transported, or the first position was wrong.
				for (let j = restart; j <= k; j++) if (Number.isFinite(x[j]!)) bad[j] = 0;
			}
		}
		refused = 0;
		good = k;
	}
	// Small jumps: one position far off the line between its neighbors, which are as near to each other as a machine gets.
	for (let k = 1; k + 1 < n; k++) {
		if (bad[k] || bad[k - 1] || bad[k + 1]) continue;
		const whole = t[k + 1]! - t[k - 1]!;
		if (!(whole > 0) || whole > BRIDGE_S) continue;
		if (hypotenuse(x[k + 1]! - x[k - 1]!, y[k + 1]! - y[k - 1]!) > fastest * whole + 4) continue;
		const f = (t[k]! - t[k - 1]!) / whole;
		const off = hypotenuse(
			x[k]! - x[k - 1]! - f * (x[k + 1]! - x[k - 1]!),
			y[k]! - y[k - 1]! - f * (y[k + 1]! - y[k - 1]!),
		);
		if (off > 2.5 + 0.5 * pace * whole) bad[k] = 1;
	}
	return bad;
}

/** Interpolates bad positions between good ones; NaN where they are too far apart. */
export function fillPlaces(t: Float64Array, x: Float64Array, y: Float64Array, bad: Uint8Array): void {
	const n = t.length;
	let before = -1;
	for (let k = 0; k < n; k++) {
		if (!bad[k]) {
			before = k;
			continue;
		}
		let after = k;
		while (after < n && bad[after]) after++;
		const usable = before >= 0 && after < n && t[after]! - t[before]! <= BRIDGE_S;
		for (let j = k; j < after; j++) {
			const span = usable ? t[after]! - t[before]! : 0;
			const f = span > 0 ? (t[j]! - t[before]!) / span : 0;
			x[j] = usable ? x[before]! + f * (x[after]! - x[before]!) : Number.NaN;
			y[j] = usable ? y[before]! + f * (y[after]! - y[before]!) : Number.NaN;
		}
		k = after - 1;
	}
}
