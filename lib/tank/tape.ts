import { Belief, type Cause, type Growth } from './belief.ts';

/** One recorded operation with the data that the backward pass needs. */
export type Operation =
	| { kind: 'set'; slot: number; variance: number; cause: Cause }
	| {
			kind: 'mix';
			slot: number;
			keep: number;
			from: readonly number[];
			by: readonly number[];
			variance: number;
			cause: Cause;
	  }
	| { kind: 'grow'; growth: Growth }
	| {
			kind: 'observe';
			at: readonly number[];
			by: readonly number[];
			/** Observed less expected, and the variance of that. */
			error: number;
			S: number;
			variance: number;
			/** Change of each quantity per unit of the error. */
			gain: Float64Array;
			cause: Cause;
			/** The caller's number of the observation; −1 = none. */
			key: number;
	  }
	| { kind: 'mark'; slot: number; key: number; mean: number; row: readonly number[] };

/** A belief that records its operations, so that they can be smoothed (see `backward`). */
export class Tape extends Belief {
	readonly operations: Operation[] = [];
	/** Σ log density of all observations. */
	logLikelihood = 0;
	/** Key of the next observation. */
	key = -1;

	/** As `Belief.set`, with the source of the uncertainty. */
	override set(slot: number, mean: number, variance: number, cause: Cause = 'prior'): void {
		super.set(slot, mean, variance);
		this.operations.push({ kind: 'set', slot, variance, cause });
	}

	/** As `Belief.mix`, with the source of the uncertainty. */
	override mix(
		slot: number,
		keep: number,
		from: readonly number[],
		by: readonly number[],
		input = 0,
		variance = 0,
		cause: Cause = 'prior',
	): void {
		super.mix(slot, keep, from, by, input, variance);
		this.operations.push({ kind: 'mix', slot, keep, from, by, variance, cause });
	}

	override grow(growth: Growth): void {
		super.grow(growth);
		this.operations.push({ kind: 'grow', growth });
	}

	/** As `Belief.observe`, with the source of the uncertainty. */
	override observe(
		at: readonly number[],
		by: readonly number[],
		value: number,
		variance: number,
		cause: Cause = 'weight',
	): number {
		const { n, x, P } = this;
		const gain = new Float64Array(n);
		let error = value;
		for (let i = 0; i < at.length; i++) {
			error -= by[i]! * x[at[i]!]!;
			for (let j = 0; j < n; j++) gain[j]! += by[i]! * P[at[i]! * n + j]!;
		}
		let S = variance;
		for (let i = 0; i < at.length; i++) S += by[i]! * gain[at[i]!]!;
		const density = super.observe(at, by, value, variance);
		if (S > 0) {
			for (let j = 0; j < n; j++) gain[j]! /= S;
			this.operations.push({ kind: 'observe', at, by, error, S, variance, gain, cause, key: this.key });
		}
		this.key = -1;
		this.logLikelihood += density;
		return density;
	}

	/** Marks a quantity to be estimated at this moment from all observations, including later ones. */
	override mark(slot: number, key: number): void {
		const { n, x, P } = this;
		this.operations.push({ kind: 'mark', slot, key, mean: x[slot]!, row: P.slice(slot * n, (slot + 1) * n) });
	}
}
