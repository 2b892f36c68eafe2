/** After a log's last row: records without a time, and records far from all others in time or place. */

import { eastPerDeg_m, M_PER_DEG } from '../../geo/plane.ts';
import { caution, type Records } from '../../model/index.ts';
import { hypotenuse, upperMedian } from '../../stats/index.ts';
import type { FileFaults } from '../faults.ts';
import type { Growing } from './grow.ts';
import type { LogColumns, LogContext } from './log-columns.ts';

/** Rows whose numbers lie further from the file's median year than this are not accepted. */
const YEAR_S = 370 * 86_400;

/** One folder is one field: the largest is a tenth of this across. */
const FAR_M = 50_000;

/** Whether a record lies further from the median place than any field extends. */
function farFromMiddle(records: Records): (i: number) => boolean {
	const { lat_deg, lon_deg } = records;
	const lat0 = middleOf(lat_deg, records.n);
	const lon0 = middleOf(lon_deg, records.n);
	const east = eastPerDeg_m(lat0);
	return (i) => {
		const around = Math.abs(lon_deg[i]! - lon0);
		const east_m = Math.min(around, 360 - around) * east;
		return hypotenuse((lat_deg[i]! - lat0) * M_PER_DEG, east_m) > FAR_M;
	};
}

/** Median of a thousand of a file's times, spread over the file. */
function middleTime(records: Records): number {
	const middle = middleOf(records.time_s, records.n);
	return Number.isNaN(middle) && records.n === 0 ? 0 : middle;
}

/** Median of a thousand of a column's known values, spread over it. */
function middleOf(values: Float64Array, end: number): number {
	const step = Math.max(1, Math.floor(end / 1000));
	const some: number[] = [];
	for (let i = 0; i < end; i += step) some.push(values[i]!);
	return upperMedian(some);
}

/** A record without a time follows the record before it, so that its grain stays in place. */
export function fillTimes(context: LogContext, file: string, without: readonly number[]): void {
	if (without.length === 0) return;
	const { records, untimed } = context.growing;
	const step = (i: number) => Math.max(0, records.interval_s[i] || 0);
	for (const i of without) {
		untimed[i] = 1;
		let last = i - 1;
		while (last >= 0 && records.combine[last] !== records.combine[i]) last--;
		if (last >= 0) records.time_s[i] = records.time_s[last]! + step(i);
	}
	// Those before the first known time count back from it.
	for (let i = records.n - 2; i >= 0; i--) {
		if (Number.isNaN(records.time_s[i])) records.time_s[i] = records.time_s[i + 1]! - step(i + 1);
	}
	context.notes.push(
		caution(`${file}: ${without.length} records have no time; each is assumed to follow the record before it.`),
	);
}

/** Sets aside records whose place or year is far from all other records of the log. */
export function dropFar(growing: Growing, faults: FileFaults, { time, numbers }: LogColumns): void {
	const { records } = growing;
	const middle = middleTime(records);
	if (Number.isNaN(middle)) {
		faults.whole(null, time.name, 'blank cells', 'no row of the log has a time');
		return;
	}
	const far = farFromMiddle(records);
	growing.drop((i) => {
		if (far(i)) {
			faults.row(
				records.line[i]!,
				numbers.find((n) => n.into === 'lat_deg')?.name ?? 'lat',
				`${records.lat_deg[i]}, ${records.lon_deg[i]}`,
				'more than 50 km from the middle of the log: not in this field',
			);
			return true;
		}
		const time_s = records.time_s[i]!;
		if (Math.abs(time_s - middle) <= YEAR_S) return false;
		faults.row(
			records.line[i]!,
			time.name,
			new Date(time_s * 1000).toISOString(),
			`impossible year: the file’s other rows are of ${new Date(middle * 1000).getUTCFullYear()}`,
		);
		return true;
	});
}
