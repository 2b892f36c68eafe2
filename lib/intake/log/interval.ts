import { middleOf } from './fit.ts';
import type { Motion } from './motion.ts';

/** A pause longer than so many usual intervals is no record's time where a log keeps its beat. */
const PAUSE = 2.6;
/** Loggers that write when something has changed leave out seconds: a record then covers all since the one before. */
const CHANGING = 12;
/** Share of longer steps from which on a log is such a one. */
const OFTEN = 0.03;

/** Steps this near to the usual one are the same but for the rounding of stamps. */
const ROUNDING = 0.02;

/** Seconds that each record covers, from the times alone. */
export interface Intervals {
	interval_s: Float64Array;
	/** The usual one; NaN where times say nothing. */
	usual_s: number;
	/** True where time stamps are rounded so much that the usual one stands for all. */
	rounded: boolean;
}

/**
 * The time since the machine's row before; after a pause the usual time. Where stamps are rounded so that they repeat, the
 * mean over runs stands for every record.
 */
export function intervalsFrom(motion: Motion, machine: Int32Array, order: Int32Array | null): Intervals {
	const n = machine.length;
	const dts: number[] = [];
	let repeats = 0;
	for (let i = 0; i < n; i++) {
		const dt = motion.dt_s[i] as number;
		if (dt > 0) dts.push(dt);
		else if (dt === 0) repeats++;
	}
	const middle = middleOf(dts);
	const interval_s = new Float64Array(n).fill(Number.NaN);
	if (!(middle > 0)) return { interval_s, usual_s: Number.NaN, rounded: false };
	// Mean time a row over unbroken stretches, machine by machine.
	const means: number[] = [];
	const last = new Map<number, { start: number; t: number; rows: number }>();
	let t = 0;
	for (let k = 0; k < n; k++) {
		const i = order?.[k] ?? k;
		const m = machine[i] as number;
		const dt = motion.dt_s[i] as number;
		t = (last.get(m)?.t ?? 0) + (Number.isNaN(dt) ? 0 : dt);
		const run = last.get(m);
		if (run === undefined || !(dt >= 0 && dt <= PAUSE * middle)) {
			last.set(m, { start: t, t, rows: 0 });
			continue;
		}
		run.t = t;
		run.rows++;
		if (run.rows === 100) {
			means.push((t - run.start) / 100);
			run.start = t;
			run.rows = 0;
		}
	}
	const mean = middleOf(means);
	const rounded = Number.isFinite(mean) && repeats > 0.02 * n && repeats < 0.6 * n;
	let usual_s = rounded ? mean : middle;
	// Loggers keep whole tenths of seconds.
	if (Math.abs(usual_s - Math.round(usual_s * 10) / 10) < 0.01 * usual_s) usual_s = Math.round(usual_s * 10) / 10;
	const longer = dts.filter((d) => d > 1.5 * usual_s && d < CHANGING * usual_s).length;
	const pause = longer > OFTEN * n ? CHANGING : PAUSE;
	for (let i = 0; i < n; i++) {
		if ((machine[i] as number) < 0) continue;
		const dt = motion.dt_s[i] as number;
		const own = !rounded && dt > 0 && dt <= pause * usual_s && Math.abs(dt - usual_s) > ROUNDING * usual_s;
		interval_s[i] = own ? dt : usual_s;
	}
	return { interval_s, usual_s, rounded };
}
