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

/** Rows of an unbroken stretch by which a beat is judged. */
const STRETCH = 50;

/**
 * The time since the machine's row before; after a pause the usual time. Where a regular beat is written with coarse
 * stamps (they repeat, or jump between two steps) its mean stands for every record.
 */
export function intervalsFrom(motion: Motion, machine: Int32Array, order: Int32Array | null): Intervals {
	const n = machine.length;
	const dts: number[] = [];
	for (let i = 0; i < n; i++) if ((motion.dt_s[i] as number) > 0) dts.push(motion.dt_s[i] as number);
	const middle = middleOf(dts);
	const interval_s = new Float64Array(n).fill(Number.NaN);
	if (!(middle > 0)) return { interval_s, usual_s: Number.NaN, rounded: false };
	const { mean, stray } = beat(motion, machine, order, PAUSE * middle);
	// A beat behind coarse stamps never strays from its mean by more than their step, however long it goes on; where a
	// logger writes when something changes, the times wander off.
	const uneven = dts.filter((d) => d < PAUSE * middle && Math.abs(d - mean) > 0.05 * mean).length > 0.05 * n;
	const rounded = uneven && stray < 1.3 * Math.max(middle, mean);
	let usual_s = rounded ? mean : middle;
	// Loggers keep whole tenths of seconds.
	if (Math.abs(usual_s - Math.round(usual_s * 10) / 10) < 0.01 * usual_s) usual_s = Math.round(usual_s * 10) / 10;
	const longer = dts.filter((d) => d > 1.5 * usual_s && d < CHANGING * usual_s).length;
	const pause = !rounded && longer > OFTEN * n ? CHANGING : PAUSE;
	for (let i = 0; i < n; i++) {
		if ((machine[i] as number) < 0) continue;
		const dt = motion.dt_s[i] as number;
		const own = !rounded && dt > 0 && dt <= pause * usual_s && Math.abs(dt - usual_s) > ROUNDING * usual_s;
		interval_s[i] = own ? dt : usual_s;
	}
	return { interval_s, usual_s, rounded };
}

/** Mean time a row over unbroken stretches, and how far times stray from it within one, both in the middle. */
function beat(
	motion: Motion,
	machine: Int32Array,
	order: Int32Array | null,
	pause_s: number,
): { mean: number; stray: number } {
	const means: number[] = [];
	const strays: number[] = [];
	const runs = new Map<number, number[]>();
	for (let k = 0; k < machine.length; k++) {
		const i = order?.[k] ?? k;
		const m = machine[i] as number;
		const dt = motion.dt_s[i] as number;
		let run = runs.get(m);
		if (run === undefined || !(dt >= 0 && dt <= pause_s)) {
			run = [0];
			runs.set(m, run);
			continue;
		}
		run.push((run.at(-1) as number) + dt);
		if (run.length <= STRETCH) continue;
		const mean = (run.at(-1) as number) / STRETCH;
		const off = run.map((t, j) => t - j * mean);
		means.push(mean);
		strays.push(Math.max(...off) - Math.min(...off));
		runs.set(m, [0]);
	}
	return { mean: middleOf(means), stray: middleOf(strays) };
}
