/** How one combine moved: its records in order of time, usable positions, speed and heading. */
import { inTimeOrder, type Records } from '../../model/index.ts';
import { columnOf, contradictsTimes, firstFrom, hypotenuse, intervalRatios, median } from '../../stats/index.ts';
import { BRIDGE_S, badPlaces, fillPlaces, REPEATED, usualPace } from './positions.ts';

/** One combine's track over the field: columns in order of time, all of length `n`. */
export interface Path {
	combine: number;
	n: number;
	/** Record numbers. */
	index: Int32Array;
	/** End of each record's interval, UTC seconds, never decreasing. */
	end_s: Float64Array;
	/** Start of its travel: the end of the previous record, or one interval earlier after a gap. */
	start_s: Float64Array;
	/** Start of the interval whose grain it holds; jitter of the time stamps does not change its length. */
	from_s: Float64Array;
	/** Antenna at `end_s`, UTM; interpolated where the position is bad; NaN where that is not possible. */
	x_m: Float64Array;
	y_m: Float64Array;
	/** 1 where the position is missing, jumps or is a repeat of an older one. */
	bad: Uint8Array;
	/** Unit vector of travel (grid); NaN where it never moved. */
	ux: Float64Array;
	uy: Float64Array;
	speed_m_s: Float64Array;
	/** Turn rate over about 10 m of travel, radians per meter. */
	turnRate_rad_m: Float64Array;
	/** Usual time between records and usual speed at work. */
	step_s: number;
	pace_m_s: number;
}

/**
 * Orders one combine's records and cleans its positions.
 *
 * @param x_m, y_m projected positions, one per record of the whole field; NaN where missing
 */
export function followPath(records: Records, combine: number, x_m: Float64Array, y_m: Float64Array): Path {
	const index = inTimeOrder(records, combine);
	const n = index.length;
	const end_s = new Float64Array(n);
	const start_s = new Float64Array(n);
	const from_s = new Float64Array(n);
	const x = new Float64Array(n);
	const y = new Float64Array(n);
	const gaps: number[] = [];
	for (let k = 0; k < n; k++) {
		const i = index[k]!;
		end_s[k] = records.time_s[i]!;
		x[k] = x_m[i]!;
		y[k] = y_m[i]!;
		const gap = k === 0 ? 0 : end_s[k]! - end_s[k - 1]!;
		if (gap > 0) gaps.push(gap);
	}
	const step_s = gaps.length === 0 ? 1 : median(gaps);
	// Intervals that the times contradict tell nothing of the ground.
	const ratios = intervalRatios(records, index);
	const interval_s = columnOf(index, (i, k) => (contradictsTimes(ratios[k]!) ? Number.NaN : records.interval_s[i]!));
	evenTimes(end_s, interval_s);
	for (let k = 0; k < n; k++) {
		const interval = interval_s[k]!;
		const wanted = interval > 0 ? interval : step_s;
		const since = k === 0 ? Infinity : end_s[k]! - end_s[k - 1]!;
		start_s[k] = end_s[k]! - (since < 1.3 * wanted ? since : wanted);
		// Records with equal times share the interval's ground.
		from_s[k] = end_s[k]! - (since < 0.7 * wanted ? since : wanted);
	}
	const pace_m_s = usualPace(end_s, x, y);
	const bad = badPlaces(end_s, x, y, pace_m_s);
	fillPlaces(end_s, x, y, bad);
	// A receiver slower than the log repeats itself all the time: on the line between two positions is as good as either.
	const repeated = bad.reduce((sum, b) => sum + Number(b === REPEATED), 0);
	const slow = repeated > SLOW_SHARE * n;
	for (let k = 0; k < n; k++) if (bad[k] === REPEATED) bad[k] = slow && Number.isFinite(x[k]!) ? 0 : 1;
	const { ux, uy, speed_m_s, turnRate_rad_m } = directions(end_s, x, y, pace_m_s, step_s);
	return {
		combine,
		n,
		index,
		end_s,
		start_s,
		from_s,
		x_m: x,
		y_m: y,
		bad,
		ux,
		uy,
		speed_m_s,
		turnRate_rad_m,
		step_s,
		pace_m_s,
	};
}

/**
 * Smooths time stamps that jitter, or that are rounded to the second in a faster log: time advances by each record's
 * interval and is pulled slightly toward the stamps. Where the two differ too much (a gap, a repeat), the stamp is used.
 * Stamps that agree with their intervals are unchanged.
 */
function evenTimes(end_s: Float64Array, interval_s: Float64Array): void {
	const n = end_s.length;
	let whole = n > 0;
	for (let k = 0; k < n && whole; k++) if (end_s[k]! !== Math.round(end_s[k]!)) whole = false;
	const rounding = whole ? 0.75 : 0;
	let own = Number.NaN;
	for (let k = 0; k < n; k++) {
		const stamp = end_s[k]!;
		const interval = interval_s[k]!;
		const next = own + interval;
		const off = stamp - next;
		if (interval > 0 && Math.abs(off) < Math.max(0.6 * interval, rounding)) own = next + DRAW * off;
		else own = stamp;
		end_s[k] = k === 0 ? own : Math.max(end_s[k - 1]!, own);
	}
}

/** A receiver that repeats more than this share of its positions is slower than the log. */
const SLOW_SHARE = 0.2;

/** Share of the difference by which time is pulled toward each stamp. */
const DRAW = 0.1;

/** Heading from a chord of a few meters on both sides, speed from the records next to it. */
function directions(t: Float64Array, x: Float64Array, y: Float64Array, pace: number, step: number) {
	const n = t.length;
	const ux = new Float64Array(n).fill(Number.NaN);
	const uy = new Float64Array(n).fill(Number.NaN);
	const speed_m_s = new Float64Array(n).fill(Number.NaN);
	const turnRate_rad_m = new Float64Array(n);
	const chord = 3;
	const wait = Math.max(4, 3 * (chord / pace), 2.5 * step);
	for (let k = 0; k < n; k++) {
		if (!Number.isFinite(x[k]!)) continue;
		let back = k;
		while (
			back > 0 &&
			Number.isFinite(x[back - 1]!) &&
			t[k]! - t[back - 1]! < wait &&
			(back === k || hypotenuse(x[k]! - x[back]!, y[k]! - y[back]!) < chord)
		)
			back--;
		let on = k;
		while (
			on + 1 < n &&
			Number.isFinite(x[on + 1]!) &&
			t[on + 1]! - t[k]! < wait &&
			(on === k || hypotenuse(x[on]! - x[k]!, y[on]! - y[k]!) < chord)
		)
			on++;
		const dx = x[on]! - x[back]!;
		const dy = y[on]! - y[back]!;
		const length = hypotenuse(dx, dy);
		if (length > 0.5) {
			ux[k] = dx / length;
			uy[k] = dy / length;
			const ax = x[k]! - x[back]!;
			const ay = y[k]! - y[back]!;
			const bx = x[on]! - x[k]!;
			const by = y[on]! - y[k]!;
			const a = hypotenuse(ax, ay);
			const b = hypotenuse(bx, by);
			if (a > 0.5 && b > 0.5) turnRate_rad_m[k] = Math.atan2(ax * by - ay * bx, ax * bx + ay * by) / ((a + b) / 2);
		}
		// Speed over at least a second, and never over less than one record on each side.
		let p = Math.max(0, k - 1);
		let q = Math.min(n - 1, k + 1);
		while (p > 0 && t[k]! - t[p]! < 0.5) p--;
		while (q < n - 1 && t[q]! - t[k]! < 0.5) q++;
		const span = t[q]! - t[p]!;
		if (span > 0 && span < BRIDGE_S) speed_m_s[k] = hypotenuse(x[q]! - x[p]!, y[q]! - y[p]!) / span;
	}
	// A stopped machine keeps its last heading.
	for (let k = 1; k < n; k++) {
		if (Number.isFinite(ux[k]!) || !Number.isFinite(ux[k - 1]!)) continue;
		ux[k] = ux[k - 1]!;
		uy[k] = uy[k - 1]!;
	}
	return { ux, uy, speed_m_s, turnRate_rad_m };
}

/** Turn rate at a time: that of the first record that ends at or after it. */
export const turnRateAt = (path: Path, time_s: number): number =>
	path.turnRate_rad_m[firstFrom(path.end_s, time_s, 0, path.n - 1)] ?? 0;
