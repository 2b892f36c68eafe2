import type { Records } from '../../model/index.ts';

/** A record's time as given in its log; NaN where the log has none and the reader filled it in. */
export function recordedTime_s(records: Records, i: number): number {
	return records.untimed?.[i] === 1 ? Number.NaN : records.time_s[i]!;
}
