import { firstAbove } from '../../stats/index.ts';
/** A machine's time without long gaps in its log, so that regular time grids do not cover the nights. */
export interface Worktime {
	/** When the first stretch began. */
	from_s: number;
	/** Start of the part left out of each gap. */
	starts_s: number[];
	/** Total left out before the first gap and up to and including each, seconds. */
	skipped_s: number[];
}

/**
 * @param from_s, to_s stretches in which something was recorded, in order of time
 * @param keep_s - gaps longer than this count as this long
 */
export function worktimeOf(from_s: ArrayLike<number>, to_s: ArrayLike<number>, keep_s: number): Worktime {
	const worktime: Worktime = { from_s: from_s.length > 0 ? from_s[0]! : 0, starts_s: [], skipped_s: [0] };
	const { starts_s, skipped_s } = worktime;
	let end = worktime.from_s;
	for (let k = 0; k < from_s.length; k++) {
		const silent = from_s[k]! - end;
		if (silent > keep_s) {
			// Keep half before the gap and half after it, since edges of passes need both.
			starts_s.push(end + keep_s / 2);
			skipped_s.push(skipped_s.at(-1)! + silent - keep_s);
		}
		if (to_s[k]! > end) end = to_s[k]!;
	}
	return worktime;
}

/** Seconds of worktime since the first stretch began; a time within a part left out counts as its start. */
export function worked_s({ from_s, starts_s, skipped_s }: Worktime, time_s: number): number {
	const begun = firstAbove(starts_s, time_s);
	const at = time_s - from_s;
	if (begun === 0) return at;
	const silence = starts_s[begun - 1]! - from_s - skipped_s[begun - 1]!;
	return Math.max(silence, at - skipped_s[begun]!);
}
