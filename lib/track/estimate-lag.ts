import { emptyRecords, type FieldPlan, type Lag, silent } from '../model/index.ts';
import { trackField } from './track-field.ts';

/** One combine's log as plain columns of one length, in order of time. */
export interface LogColumns {
	/** End of each record's interval, seconds since 1970. */
	time_s: ArrayLike<number>;
	lat_deg: ArrayLike<number>;
	lon_deg: ArrayLike<number>;
	/** Wet flow at the sensor. */
	flow_kg_s: ArrayLike<number>;
	interval_s: ArrayLike<number>;
	swath_m: ArrayLike<number>;
}

/**
 * Seconds from header to flow sensor: the shift at which neighboring passes, cut in opposite directions, agree best,
 * together with how the flow builds up and runs out at the passes' ends. `source` is `assumed` where no passes show it.
 *
 * Sources: Beal and Tian 2001, Applied Engineering in Agriculture 17:385; Efron and Stein 1981 for `u_s`.
 *
 * @throws RangeError where the columns differ in length.
 *
 * @example
 * ```js
 * // Up and down over a field whose yield rises eastward; the flow arrives 12 s after the header.
 * const crop = (x) => 8 + 3 * Math.sin(x / 25);
 * const log = { time_s: [], lat_deg: [], lon_deg: [], flow_kg_s: [], interval_s: [], swath_m: [] };
 * const eastOf = (t) => { const p = Math.floor(t / 240); const s = 2 * (t % 240) - 40; return p % 2 ? 400 - s : s; };
 * for (let t = 0; t < 240 * 12; t++) {
 *   const down = eastOf(t - 12) >= 0 && eastOf(t - 12) <= 400 && t >= 12;
 *   log.time_s.push(1.79e9 + t); log.interval_s.push(1); log.swath_m.push(9);
 *   log.lat_deg.push(42 + (9 * Math.floor(t / 240)) / 111132); log.lon_deg.push(-93 + eastOf(t) / 82850);
 *   log.flow_kg_s.push(down ? crop(eastOf(t - 12)) : 0);
 * }
 * Math.abs(estimateLag(log).lag_s - 12) < 1; // → true
 * ```
 */
export function estimateLag(log: LogColumns): Lag {
	const n = log.time_s.length;
	const columns = ['time_s', 'lat_deg', 'lon_deg', 'flow_kg_s', 'interval_s', 'swath_m'] as const;
	const records = { ...emptyRecords(n), combines: ['A'] };
	const account = {
		monitor_kg: new Float64Array(n),
		account_kg: new Float64Array(n),
		fault: new Uint8Array(n),
	};
	for (const column of columns) {
		if (log[column].length !== n) {
			throw new RangeError(`estimateLag: expected ${n} values of ${column}, found ${log[column].length}`);
		}
		records[column].set(log[column]);
	}
	for (let i = 0; i < n; i++) {
		const kg = records.flow_kg_s[i]! * records.interval_s[i]!;
		account.monitor_kg[i] = account.account_kg[i] = Math.max(0, kg) || 0;
	}
	const plan = { combines: {}, flags: {}, pins: {} } as FieldPlan;
	const track = trackField({ records, plan, boundary: null, varieties: null, account }, silent);
	return track.lags[0]!;
}
