/** Sources of uncertainty: the lines of an uncertainty budget. */
export const CAUSES = [
	'prior',
	'slow',
	'fill',
	'rest',
	'reading',
	'weight',
	'cart',
	'seam',
	'scale',
	'curve',
	'change',
] as const;
/** A source of uncertainty: one of `CAUSES`. */
export type Cause = (typeof CAUSES)[number];

/** Grain that comes in: quantities grow by an amount of it while another, the monitor's slow error, goes on. */
export interface Growth {
	/** The amount is Σ by · x[from] + noise, and each of `into` grows by it; `from` holds none of `into`. */
	from: readonly number[];
	by: readonly number[];
	into: readonly number[];
	/** x[slot] = keep · x[slot] + noise. */
	slot: number;
	keep: number;
	/** Variances of the slot's noise and of the amount's from the same source, and their covariance. */
	end: number;
	mean: number;
	both: number;
	/** Variance of the amount's own noise. */
	own: number;
}

/**
 * Joint normal distribution of n quantities: means x and covariance P (row-major). It is small and cheap to copy, so that
 * a search can carry one per branch. Four operations: set a quantity, mix it from others, let some grow together,
 * observe a weighted sum.
 *
 * Source: R. E. Kalman, Journal of Basic Engineering 82:35, 1960; scalar observations one after another as in Durbin and
 * Koopman, Time Series Analysis by State Space Methods, 2nd ed., 2012, section 6.4.
 *
 * @example
 * A level of 6 t ± 100 kg, then weighed at 5.9 t ± 50 kg:
 * ```js
 * const b = new Belief(1);
 * b.set(0, 6000, 100 ** 2);
 * b.observe([0], [1], 5900, 50 ** 2);
 * b.x[0]; // → 5920
 * ```
 */
export class Belief {
	readonly n: number;
	/** Plain arrays, since a search makes millions of copies and small typed arrays are slow to create. */
	x: number[];
	P: number[];

	constructor(n: number, x: number[] = zeros(n), P: number[] = zeros(n * n)) {
		this.n = n;
		this.x = x;
		this.P = P;
	}

	/** An independent copy. */
	copy(): Belief {
		return new Belief(this.n, this.x.slice(), this.P.slice());
	}

	/** Sets a quantity to N(mean, variance), independent of the others. */
	set(slot: number, mean: number, variance: number, _cause: Cause = 'prior'): void {
		const { n, x, P } = this;
		for (let j = 0; j < n; j++) P[slot * n + j] = P[j * n + slot] = 0;
		x[slot] = mean;
		P[slot * n + slot] = variance;
	}

	/** Marks a quantity to be smoothed at this moment; does nothing here (see `Tape.mark`). */
	mark(_slot: number, _key: number, _shockOnly = false): void {}

	/** x[slot] = keep · x[slot] + Σ by · x[from] + input + N(0, variance); `from` does not hold `slot`. */
	mix(
		slot: number,
		keep: number,
		from: readonly number[],
		by: readonly number[],
		input = 0,
		variance = 0,
		_cause: Cause = 'prior',
	): void {
		const { n, x, P } = this;
		const row = scratch(n);
		let mean = keep * x[slot]! + input;
		for (let j = 0; j < n; j++) row[j] = keep * P[slot * n + j]!;
		for (let i = 0; i < from.length; i++) {
			const f = from[i]!;
			const a = by[i]!;
			if (a === 0) continue;
			mean += a * x[f]!;
			for (let j = 0; j < n; j++) row[j]! += a * P[f * n + j]!;
		}
		let own = keep * row[slot]! + variance;
		for (let i = 0; i < from.length; i++) own += by[i]! * row[from[i]!]!;
		for (let j = 0; j < n; j++) P[slot * n + j] = P[j * n + slot] = row[j]!;
		P[slot * n + slot] = own;
		x[slot] = mean;
	}

	/** Lets quantities grow by one amount (see `Growth`). */
	grow({ from, by, into, slot, keep, end, mean, both, own }: Growth): void {
		const { n, x, P } = this;
		// Covariance of the amount with each quantity.
		const row = scratch(n);
		for (let j = 0; j < n; j++) row[j] = 0;
		let amount = 0;
		let variance = mean + own;
		for (let i = 0; i < from.length; i++) {
			const f = from[i]!;
			const a = by[i]!;
			amount += a * x[f]!;
			for (let j = 0; j < n; j++) row[j]! += a * P[f * n + j]!;
		}
		for (let i = 0; i < from.length; i++) variance += by[i]! * row[from[i]!]!;
		x[slot]! *= keep;
		for (let j = 0; j < n; j++) P[slot * n + j] = P[j * n + slot] = keep * P[slot * n + j]!;
		P[slot * n + slot] = keep * P[slot * n + slot]! + end;
		row[slot] = keep * row[slot]! + both;
		for (let i = 0; i < into.length; i++) {
			const t = into[i]!;
			x[t]! += amount;
			P[t * n + t]! += row[t]!;
			row[t]! += variance;
			for (let j = 0; j < n; j++) P[j * n + t] = P[t * n + j] = P[t * n + j]! + row[j]!;
		}
	}

	/** Log density, in nats, of observing Σ by · x[at] as `value`; does not update the state. */
	density(at: readonly number[], by: readonly number[], value: number, variance: number): number {
		let error = value;
		let S = variance;
		at.forEach((f, i) => {
			error -= by[i]! * this.x[f]!;
			at.forEach((g, j) => {
				S += by[i]! * by[j]! * this.P[f * this.n + g]!;
			});
		});
		return -0.5 * (Math.log(2 * Math.PI * S) + (error * error) / S);
	}

	/**
	 * Updates the state by an observation `value` of Σ by · x[at] with the given variance.
	 *
	 * @returns log density of the observation, nats: the cost of one more choice in a search, with its sign changed
	 */
	observe(
		at: readonly number[],
		by: readonly number[],
		value: number,
		variance: number,
		_cause: Cause = 'weight',
	): number {
		const { n, x, P } = this;
		const row = scratch(n);
		for (let j = 0; j < n; j++) row[j] = 0;
		let error = value;
		for (let i = 0; i < at.length; i++) {
			const f = at[i]!;
			const a = by[i]!;
			error -= a * x[f]!;
			for (let j = 0; j < n; j++) row[j]! += a * P[f * n + j]!;
		}
		let S = variance;
		for (let i = 0; i < at.length; i++) S += by[i]! * row[at[i]!]!;
		if (!(S > 0)) return 0;
		for (let i = 0; i < n; i++) {
			const g = row[i]! / S;
			if (g === 0) continue;
			x[i]! += g * error;
			for (let j = 0; j < n; j++) P[i * n + j]! -= g * row[j]!;
		}
		return -0.5 * (Math.log(2 * Math.PI * S) + (error * error) / S);
	}
}

function zeros(n: number): number[] {
	const list: number[] = [];
	for (let i = 0; i < n; i++) list.push(0);
	return list;
}

let row = new Float64Array(32);

/** Scratch space for one row during a call. */
function scratch(n: number): Float64Array {
	if (row.length < n) row = new Float64Array(n);
	return row;
}
