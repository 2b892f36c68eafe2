import { upperMedian } from '../../stats/median.ts';
import { secondsGiven } from '../time/questions.ts';
import type { Instants } from '../time/time-context.ts';
import { middlePositive } from '../units/fit.ts';
import { short } from '../units/in-words.ts';
import { type Columns, inOwnUnit } from './column-roles.ts';
import type { Motion } from './follow-rows.ts';
import type { Way } from './way.ts';

/** In a log with a regular interval, a pause longer than this many intervals does not belong to a record. */
const PAUSE = 2.6;
/** Loggers that write only when something changes skip seconds: a record then covers all time since the one before. */
const CHANGING = 12;
/** Share of longer steps that identifies such a logger. */
const OFTEN = 0.03;

/** Steps this near to the usual one differ only by the rounding of time stamps. */
const ROUNDING = 0.02;

/** Seconds of each record. */
export interface Seconds {
	interval_s: Float64Array;
	/** True if a column or the times show them. */
	timed: boolean;
	notes: string[];
}

/** Seconds that each record lasts, from a column of that name, if they are such. */
export function durationsOf(columns: Columns): Float64Array | null {
	const v = columns.numbersByName('interval', 0.6)[0]?.column.numbers;
	return v && middlePositive(v) > 0.05 && middlePositive(v) < 120 ? v : null;
}

/** Seconds of each record: by a column, by the times, or as answered. */
export function findSeconds(columns: Columns, way: Way, instants: Instants): Seconds {
	const { motion } = way;
	const { table, given } = columns;
	const timed = !instants.timeless || table.columns.some((c) => instants.used.has(c.name));
	const show = (x: number) => `${short(x)} s apart`;
	const interval = columns.find(
		'interval',
		timed ? { values: motion.dt_s, tolerance: 1.25, by: 'times are', show, anonymous: 0.02 } : null,
		(m) => m > 0.01 && m < 5000,
	);
	if (interval) return { interval_s: inOwnUnit(interval), timed: true, notes: [] };
	const fromTimes = intervalsFrom(motion, way.machine, way.order);
	if (timed && fromTimes.usual_s > 0) {
		const usual = short(fromTimes.usual_s);
		const note = fromTimes.rounded
			? `no column of seconds: time stamps are rounded, and records come every ${usual} s in the mean`
			: `no column of seconds: a record’s time is that since the one before, ${usual} s as a rule`;
		return { interval_s: fromTimes.interval_s, timed: true, notes: [note] };
	}
	return { interval_s: new Float64Array(table.n).fill(secondsGiven(given) ?? 1), timed, notes: [] };
}

/** Seconds that each record covers, from the times alone. */
interface Intervals {
	interval_s: Float64Array;
	/** The usual interval; NaN if times do not show one. */
	usual_s: number;
	/** True if time stamps are so coarse that the usual interval is used for all. */
	rounded: boolean;
}

/** Number of uninterrupted rows needed to judge regularity. */
const STRETCH = 50;

/**
 * The time since the machine's row before; after a pause the usual interval. Where a regular interval is written with
 * coarse time stamps (they repeat, or alternate between two steps), its mean is used for every record.
 */
function intervalsFrom(motion: Motion, machine: Int32Array, order: Int32Array | null): Intervals {
	const n = machine.length;
	const dts: number[] = [];
	for (let i = 0; i < n; i++) if (motion.dt_s[i]! > 0) dts.push(motion.dt_s[i]!);
	const middle = upperMedian(dts);
	const interval_s = new Float64Array(n).fill(Number.NaN);
	if (!(middle > 0)) return { interval_s, usual_s: Number.NaN, rounded: false };
	const { mean, stray } = beat(motion, machine, order, PAUSE * middle);
	// A regular interval behind coarse stamps never deviates from its mean by more than their step, however long it
	// continues; where a logger writes on changes, the times drift away.
	const uneven = dts.filter((d) => d < PAUSE * middle && Math.abs(d - mean) > 0.05 * mean).length > 0.05 * n;
	const rounded = uneven && stray < 1.3 * Math.max(middle, mean);
	let usual_s = rounded ? mean : middle;
	// Loggers keep whole tenths of seconds.
	if (Math.abs(usual_s - Math.round(usual_s * 10) / 10) < 0.01 * usual_s) usual_s = Math.round(usual_s * 10) / 10;
	const longer = dts.filter((d) => d > 1.5 * usual_s && d < CHANGING * usual_s).length;
	const pause = !rounded && longer > OFTEN * n ? CHANGING : PAUSE;
	for (let i = 0; i < n; i++) {
		if (machine[i]! < 0) continue;
		const dt = motion.dt_s[i]!;
		const own = !rounded && dt > 0 && dt <= pause * usual_s && Math.abs(dt - usual_s) > ROUNDING * usual_s;
		interval_s[i] = own ? dt : usual_s;
	}
	return { interval_s, usual_s, rounded };
}

/** Mean time per row over uninterrupted stretches, and how far times deviate from it within one, both as medians. */
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
		const m = machine[i]!;
		const dt = motion.dt_s[i]!;
		let run = runs.get(m);
		if (run === undefined || !(dt >= 0 && dt <= pause_s)) {
			run = [0];
			runs.set(m, run);
			continue;
		}
		run.push(run.at(-1)! + dt);
		if (run.length <= STRETCH) continue;
		const mean = run.at(-1)! / STRETCH;
		const off = run.map((t, j) => t - j * mean);
		means.push(mean);
		strays.push(Math.max(...off) - Math.min(...off));
		runs.set(m, [0]);
	}
	return { mean: upperMedian(means), stray: upperMedian(strays) };
}
