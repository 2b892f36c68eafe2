/** Seconds that records cover, against those that passed on the clock. */
import type { Records } from '../../model/index.ts';
import { columnOf, firstAbove } from '../../stats/index.ts';

/** Seconds around a record over which its combine's seconds are counted. */
const WINDOW_S = 10;

/** Sums over records in order of time, from which some can be removed (Fenwick 1994). */
class Sums {
	private readonly tree: Float64Array;

	constructor(values: Float64Array) {
		this.tree = new Float64Array(values.length + 1);
		for (let k = 0; k < values.length; k++) this.add(k, values[k]!);
	}

	add(k: number, value: number): void {
		for (let p = k + 1; p < this.tree.length; p += p & -p) this.tree[p] = this.tree[p]! + value;
	}

	/** Sum of the first `k`. */
	upTo(k: number): number {
		let sum = 0;
		for (let p = k; p > 0; p -= p & -p) sum += this.tree[p]!;
		return sum;
	}
}

/** Seconds that one combine's records cover, and those that passed on the clock. `own` are its records in order of time. */
export class Budget {
	private readonly usual_s: number;
	private readonly time_s: Float64Array;
	private readonly interval_s: Float64Array;
	/** Clock seconds up to each record, without gaps in which nothing was recorded. */
	private readonly clock_s: Float64Array;
	private readonly window_s: number;
	private readonly sums: Sums;

	constructor(records: Records, own: readonly number[]) {
		this.time_s = columnOf(own, (i) => records.time_s[i]!);
		this.interval_s = columnOf(own, (i) => records.interval_s[i]!);
		this.usual_s = this.interval_s.slice().sort()[own.length >> 1]!;
		this.clock_s = new Float64Array(own.length);
		for (let k = 1; k < own.length; k++) {
			const step = Math.min(this.time_s[k]! - this.time_s[k - 1]!, 3 * this.usual_s);
			this.clock_s[k] = this.clock_s[k - 1]! + step;
		}
		this.window_s = Math.max(WINDOW_S, 10 * this.usual_s);
		this.sums = new Sums(this.interval_s);
	}

	/** Seconds that the records around the k-th cover beyond those of the clock. */
	excess_s(k: number): number {
		const from = firstAbove(this.time_s, this.time_s[k]! - this.window_s);
		const end = firstAbove(this.time_s, this.time_s[k]! + this.window_s) - 1;
		const clock_s = this.clock_s[end]! - this.clock_s[from]! + this.usual_s;
		return this.sums.upTo(end + 1) - this.sums.upTo(from) - clock_s;
	}

	/** Seconds that all records cover beyond those of the clock. */
	inAll_s(): number {
		const last = this.clock_s.length - 1;
		return this.sums.upTo(last + 1) - this.clock_s[last]! - this.usual_s;
	}

	take(k: number): void {
		this.sums.add(k, -this.interval_s[k]!);
	}
}
