import type { Account, Records } from '../../model/index.ts';
import { inTimeOrder } from '../../model/index.ts';
import { firstAbove, firstFrom } from '../../stats/index.ts';

/** One combine's account mass by time: running sums over its records in order of time. */
export interface Flowing {
	combine: number;
	/** Record indices in order of time. */
	index: Int32Array;
	/** Start and end of each record's interval. */
	from_s: Float64Array;
	time_s: Float64Array;
	/** Mass up to the end of each record, kg; element 0 is 0 and element k + 1 belongs to record k. */
	sum_kg: Float64Array;
	/** Seconds stopped up to the end of each record, gaps in the log included. */
	stood_s: Float64Array;
	start_s: number;
	end_s: number;
	total_kg: number;
}

/** Slower than this is stopped, m/s. */
const CRAWL_M_S = 0.35;

/** Sums one combine's account mass over its records. */
export function flowing(records: Records, account: Account, combine: number): Flowing {
	const index = inTimeOrder(records, combine);
	const n = index.length;
	const from_s = new Float64Array(n);
	const time_s = new Float64Array(n);
	const sum_kg = new Float64Array(n + 1);
	const stood_s = new Float64Array(n + 1);
	let before = Number.NaN;
	for (let k = 0; k < n; k++) {
		const i = index[k]!;
		const t = records.time_s[i]!;
		const given = records.interval_s[i]!;
		const interval = given > 0 ? given : 1;
		time_s[k] = t;
		from_s[k] = k > 0 ? Math.max(t - interval, Math.min(before, t)) : t - interval;
		sum_kg[k + 1] = sum_kg[k]! + account.account_kg[i]!;
		const gap = k > 0 ? Math.max(0, t - interval - before) : 0;
		const stands = groundSpeed(records, i, interval) < CRAWL_M_S;
		stood_s[k + 1] = stood_s[k]! + (gap > 2 * interval ? gap : 0) + (stands ? interval : 0);
		before = t;
	}
	return {
		combine,
		index,
		from_s,
		time_s,
		sum_kg,
		stood_s,
		start_s: n > 0 ? from_s[0]! : 0,
		end_s: n > 0 ? time_s[n - 1]! : 0,
		total_kg: sum_kg[n]!,
	};
}

function groundSpeed(records: Records, i: number, interval_s: number): number {
	const d = records.distance_m[i]!;
	if (Number.isFinite(d)) return d / interval_s;
	const v = records.speed_m_s[i]!;
	return Number.isFinite(v) ? v : 1;
}

/** How many records end at or before t. */
export function recordsUntil(f: Flowing, t: number): number {
	return firstAbove(f.time_s, t);
}

/** Mass that has passed the sensor by t, kg: linear within a record, constant between records. */
export function massAt(f: Flowing, t: number): number {
	const k = recordsUntil(f, t);
	return column(f, f.sum_kg, k, t);
}

/** Mean flow in the seconds around t, kg/s. */
export function flowAround(f: Flowing, t: number, half_s = 15): number {
	return (massAt(f, t + half_s) - massAt(f, t - half_s)) / (2 * half_s);
}

/** Share of the time between a and b in which the combine was stopped or its log has a gap. */
export function stoodShare(f: Flowing, a: number, b: number): number {
	const within = Math.min(b, f.end_s) - Math.max(a, f.start_s);
	if (!(within > 0)) return 1;
	const outside = b - a - within;
	const stood = stoodBy(f, b) - stoodBy(f, a);
	return Math.min(1, Math.max(0, (stood + outside) / (b - a)));
}

function stoodBy(f: Flowing, t: number): number {
	const k = recordsUntil(f, t);
	if (k >= f.time_s.length) return f.stood_s[k]!;
	const a = k > 0 ? f.time_s[k - 1]! : f.start_s;
	const b = f.time_s[k]!;
	const share = b > a ? Math.min(1, Math.max(0, (t - a) / (b - a))) : 0;
	return f.stood_s[k]! + share * (f.stood_s[k + 1]! - f.stood_s[k]!);
}

function column(f: Flowing, sum: Float64Array, k: number, t: number): number {
	const whole = sum[k]!;
	if (k >= f.time_s.length) return whole;
	const a = f.from_s[k]!;
	const b = f.time_s[k]!;
	if (t <= a || b <= a) return whole;
	return whole + ((t - a) / (b - a)) * (sum[k + 1]! - whole);
}

/** The time by which this mass has passed, at least the log's start and at most its end. */
export function timeOfMass(f: Flowing, kg: number): number {
	if (!(kg > 0)) return f.start_s;
	if (kg >= f.total_kg) return f.end_s;
	const k = firstFrom(f.sum_kg, kg, 1, f.time_s.length + 1) - 1;
	const a = f.sum_kg[k]!;
	const b = f.sum_kg[k + 1]!;
	const share = b > a ? (kg - a) / (b - a) : 1;
	return f.from_s[k]! + share * (f.time_s[k]! - f.from_s[k]!);
}
