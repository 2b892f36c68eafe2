import { isSensed, type Lag, type Records } from '../../model/index.ts';
import type { Path } from '../path/follow-path.ts';

/** Moisture of each record's grain, the difference between the lags of the moisture and flow sensors taken out; NaN where none was measured. */
export function shiftMoisture(records: Records, path: Path, lag: Lag): Float64Array {
	const out = new Float64Array(path.n);
	const shift = Number.isFinite(lag.moistureLag_s) ? lag.moistureLag_s - lag.lag_s : 0;
	let j = 0;
	for (let k = 0; k < path.n; k++) {
		const t = path.end_s[k]! + shift;
		while (j + 1 < path.n && path.end_s[j + 1]! <= t) j++;
		while (j > 0 && path.end_s[j]! > t) j--;
		let near = j;
		if (j + 1 < path.n && path.end_s[j + 1]! - t < t - path.end_s[j]!) near = j + 1;
		const own = records.moisture_pct[path.index[k]!]!;
		const there = records.moisture_pct[path.index[near]!]!;
		const sensed_pct = Math.abs(path.end_s[near]! - t) < 3 && isSensed(there) ? there : own;
		out[k] = isSensed(sensed_pct) ? sensed_pct : Number.NaN;
	}
	return out;
}
