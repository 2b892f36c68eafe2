/** Where a disturbance comes from: the lines of an uncertainty budget. */
export type Cause =
	| 'prior'
	| 'slow'
	| 'fill'
	| 'rest'
	| 'reading'
	| 'weight'
	| 'cart'
	| 'seam'
	| 'scale'
	| 'curve'
	| 'change';

/**
 * What is believed of n quantities, jointly normal: means x and covariance P (row-major). Small and cheap to copy, so
 * that a search can carry one in each of its branches. Three operations are all there is: a quantity is set anew, one is
 * made of others, and a sum of some is observed.
 *
 * Source: R. E. Kalman, Journal of Basic Engineering 82:35, 1960; scalar observations one after another as in Durbin and
 * Koopman, Time Series Analysis by State Space Methods, 2nd ed., 2012, section 6.4.
 *
 * @example
 * A level believed at 6 t ± 100 kg, then weighed at 5.9 t ± 50 kg:
 * ```js
 * const b = new Belief(1);
 * b.set(0, 6000, 100 ** 2);
 * b.observe([0], [1], 5900, 50 ** 2);
 * b.x[0]; // → 5920
 * ```
 */
export class Belief {
	readonly n: number;
	/** Plain arrays: a search copies them by the million, and small typed ones are slow to make. */
	x: number[];
	P: number[];

	constructor(n: number, x: number[] = zeros(n), P: number[] = zeros(n * n)) {
		this.n = n;
		this.x = x;
		this.P = P;
	}

	/** A belief of its own with the same state. */
	copy(): Belief {
		return new Belief(this.n, this.x.slice(), this.P.slice());
	}

	/** Forgets what was known of a quantity: it is now N(mean, variance), on its own. */
	set(slot: number, mean: number, variance: number, _cause: Cause = 'prior'): void {
		const { n, x, P } = this;
		for (let j = 0; j < n; j++) P[slot * n + j] = P[j * n + slot] = 0;
		x[slot] = mean;
		P[slot * n + slot] = variance;
	}

	/** Asks what a quantity was at this moment, given all that is learnt later too: a belief keeps no such thing (see `Tape`). */
	mark(_slot: number, _key: number): void {}

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

	/** Log of the density with which Σ by · x[at] is expected to be observed as `value`, without learning it, nats. */
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
	 * Learns that Σ by · x[at] was observed as `value`, with that variance.
	 *
	 * @returns the log of the density with which it was expected, nats: what one more choice in a search costs
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

/** One row to work in, for the length of a call. */
function scratch(n: number): Float64Array {
	if (row.length < n) row = new Float64Array(n);
	return row;
}
