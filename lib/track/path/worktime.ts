/** A machine's time without long gaps in its log, so that regular time grids do not cover the nights. */
export class Worktime {
	/** Start of the part left out of each gap. */
	private readonly starts_s: number[] = [];
	/** Total left out up to and including each gap, seconds. */
	private readonly skipped_s: number[] = [0];
	private readonly from_s: number;

	/**
	 * @param from_s, to_s stretches in which something was recorded, in order of time
	 * @param keep_s - gaps longer than this count as this long
	 */
	constructor(from_s: ArrayLike<number>, to_s: ArrayLike<number>, keep_s: number) {
		this.from_s = from_s.length > 0 ? from_s[0]! : 0;
		let end = this.from_s;
		for (let k = 0; k < from_s.length; k++) {
			const silent = from_s[k]! - end;
			if (silent > keep_s) {
				// Keep half before the gap and half after it, since edges of passes need both.
				this.starts_s.push(end + keep_s / 2);
				this.skipped_s.push(this.skipped_s.at(-1)! + silent - keep_s);
			}
			if (to_s[k]! > end) end = to_s[k]!;
		}
	}

	/** Seconds of worktime since the first stretch began; a time within a part left out counts as its start. */
	of(time_s: number): number {
		const { starts_s, skipped_s } = this;
		let low = 0;
		let high = starts_s.length;
		while (low < high) {
			const middle = (low + high) >> 1;
			if (starts_s[middle]! <= time_s) low = middle + 1;
			else high = middle;
		}
		const at = time_s - this.from_s;
		if (low === 0) return at;
		const silence = starts_s[low - 1]! - this.from_s - skipped_s[low - 1]!;
		return Math.max(silence, at - skipped_s[low]!);
	}
}
