/**
 * How much the smear makes a record's flow differ from the grain of its own ground if the crop is uniform: area cut per
 * second, passed through the sensor's delay and smear, compared with the area of the record's own window.
 */
import type { Grain } from '../ground/grain.ts';
import type { Path } from '../path/motion.ts';
import type { Pieces } from '../path/pieces.ts';
import { Worktime } from '../path/worktime.ts';

/** Step of the time grid, and time that it covers before the first record, seconds. */
const STEP_S = 0.25;
const BEFORE_S = 60;
/** Longer gaps in the log are left out of the grid, seconds. */
const SILENCE_S = 600;

/**
 * Relative difference for every record of a path.
 *
 * @param input - `smear_s`: time constant of the first-order smear; `lag_s`: mean delay, smear included
 * @returns relative difference per record, and where: −1 near a start, 1 near an end, 0 elsewhere
 */
export function smearBlend(input: {
	path: Path;
	pieces: Pieces;
	new_m: Float64Array;
	grain: Grain;
	smear_s: number;
	lag_s: number;
}): { share: Float64Array; where: Int8Array } {
	const { path, pieces, new_m, grain, smear_s, lag_s } = input;
	const { n } = path;
	const share = new Float64Array(n);
	const where = new Int8Array(n);
	const worktime = new Worktime(path.start_s, path.end_s, SILENCE_S);
	const place = (time_s: number) => (worktime.of(time_s) + BEFORE_S) / STEP_S;
	const m = Math.max(2, Math.min(80_000_000, Math.ceil(place(path.end_s[n - 1]!)) + 1));
	const rate = new Float64Array(m);
	const starts: number[] = [];
	const ends: number[] = [];
	let lastEnd = Number.NEGATIVE_INFINITY;
	for (let i = 0; i < pieces.n; i++) {
		if (pieces.combine[i] !== path.combine) continue;
		const span = pieces.to_s[i]! - pieces.from_s[i]!;
		if (!(span > 0)) continue;
		const r = (new_m[i]! * pieces.length_m[i]!) / span;
		const from = Math.max(0, Math.ceil(place(pieces.from_s[i]!)));
		const to = Math.min(m - 1, Math.ceil(place(pieces.to_s[i]!)) - 1);
		for (let g = from; g <= to; g++) rate[g] = r;
		if (new_m[i]! > 0) {
			if (pieces.from_s[i]! - lastEnd > 2) {
				if (Number.isFinite(lastEnd)) ends.push(lastEnd);
				starts.push(pieces.from_s[i]!);
			}
			lastEnd = pieces.to_s[i]!;
		}
	}
	ends.push(lastEnd);
	const smeared = rate.slice();
	if (smear_s > 0) {
		const keep = smear_s / (smear_s + STEP_S);
		for (let g = 1; g < m; g++) smeared[g] = keep * smeared[g - 1]! + (1 - keep) * smeared[g]!;
	}
	const sums = new Float64Array(m + 1);
	for (let g = 0; g < m; g++) sums[g + 1] = sums[g]! + smeared[g]!;
	const pure_s = lag_s - smear_s;
	let s = 0;
	for (let k = 0; k < n; k++) {
		const span = path.end_s[k]! - path.from_s[k]!;
		if (!(grain.area_m2[k]! > 0) || !(span > 0)) continue;
		const a = place(path.from_s[k]! - pure_s);
		const b = place(path.end_s[k]! - pure_s);
		if (!(a >= 0 && b < m - 1)) continue;
		const mean = (sumTo(sums, b) - sumTo(sums, a)) / (b - a);
		const own = grain.area_m2[k]! / span;
		share[k] = mean / own - 1;
		while (s + 1 < starts.length && starts[s + 1]! <= grain.cut_s[k]!) s++;
		const near = 4 * smear_s + path.step_s;
		if (grain.cut_s[k]! - starts[s]! < near) where[k] = -1;
		else if (ends[s]! - grain.cut_s[k]! < near) where[k] = 1;
	}
	return { share, where };
}

/** Running sum at a place between steps. */
function sumTo(sums: Float64Array, at: number): number {
	const low = Math.floor(at);
	return sums[low]! + (at - low) * (sums[low + 1]! - sums[low]!);
}
