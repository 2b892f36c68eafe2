import { caution } from '../../model/index.ts';
import type { LogContext } from './log-columns.ts';

const MINUTE_S = 60;
/** Fewest rows in a usual minute that show that its seconds are missing. */
const FEWEST = 3;

/**
 * Spreads rows over the minute where a log's times hold no seconds, as after a spreadsheet has saved them: by their intervals,
 * from the start of the minute, or up to its end in a combine's first one.
 */
export function spreadMinutes({ growing, notes }: LogContext, file: string): void {
	const { n, time_s, interval_s, combine } = growing.records;
	const runs: { from: number; to: number; first: boolean }[] = [];
	const seen = new Set<number>();
	for (let i = 0; i < n; i++) {
		if (time_s[i]! % MINUTE_S !== 0) return;
		const run = runs.at(-1);
		if (run && time_s[run.from] === time_s[i] && combine[run.from] === combine[i]) run.to = i + 1;
		else runs.push({ from: i, to: i + 1, first: !seen.has(combine[i]!) });
		seen.add(combine[i]!);
	}
	// A clock that holds no hours either is of no use.
	const held_s = interval_s.subarray(0, n).reduce((sum, s) => sum + (s || 0), 0);
	if (n < FEWEST * runs.length || held_s > 2 * MINUTE_S * runs.length) return;
	for (const { from, to, first } of runs) {
		const known = interval_s.subarray(from, to).every((s) => s > 0);
		const step_s = (i: number) => (known ? interval_s[i]! : MINUTE_S / (to - from));
		let all_s = 0;
		for (let i = from; i < to; i++) all_s += step_s(i);
		const scale = Math.min(1, MINUTE_S / all_s);
		let at_s = first ? MINUTE_S - scale * all_s : 0;
		for (let i = from; i < to; i++) {
			at_s += scale * step_s(i);
			time_s[i]! += at_s - scale * step_s(from);
		}
	}
	notes.push(
		caution(
			`${file}: its times hold no seconds. Rows are spread over each minute, and the clock is known to a minute at best. Export the log again with seconds if you can.`,
		),
	);
}
