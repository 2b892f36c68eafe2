import { apart_m } from '../../geo/plane.ts';
import { caution } from '../../model/index.ts';
import { durationText } from '../../units/index.ts';
import type { LogContext } from './log-columns.ts';

/** Rows may be out of order by less than this, seconds. */
const LEAST_S = 120;
/** No combine is further than this from where it was a record before, m. */
const NEAR_M = 30;

/**
 * Where a log's time goes back once while the combine drives on, its display's clock was set back: later records follow on
 * those before. Rows in another order go back more often or from one place to another.
 */
export function followOn({ growing, notes }: LogContext, file: string): void {
	const { records } = growing;
	const { combine, time_s, lat_deg, lon_deg, interval_s, line } = records;
	const last = new Map<number, number>();
	const back = new Map<number, { at: number; by_s: number; more: boolean }>();
	for (let i = 0; i < records.n; i++) {
		if (Number.isNaN(time_s[i]!)) continue;
		const c = combine[i]!;
		const before = last.get(c);
		last.set(c, i);
		if (before === undefined) continue;
		const on_s = time_s[i]! - time_s[before]!;
		const earlier = back.get(c);
		// A few rows with a wrong time: it comes back by as much.
		if (earlier && Math.abs(on_s - earlier.by_s) < LEAST_S) earlier.more = true;
		if (!(on_s < -LEAST_S)) continue;
		const near = apart_m(lon_deg[i]!, lat_deg[i]!, lon_deg[before]!, lat_deg[before]!) < NEAR_M;
		back.set(c, { at: i, by_s: (interval_s[i]! || 1) - on_s, more: earlier !== undefined || !near });
	}
	for (const [c, { at, by_s, more }] of back) {
		if (more) continue;
		for (let i = at; i < records.n; i++) if (combine[i] === c) time_s[i]! += by_s;
		notes.push(
			caution(
				`${file}: at row ${line[at]} the time goes back by ${durationText(by_s)} while the combine drives on, so its clock was set back. The rows from there on are taken to follow on. Check which times are right.`,
			),
		);
	}
}
