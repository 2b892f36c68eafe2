import { Belief, CAUSES, type Cause, type Growth } from './belief.ts';

/**
 * Operations in the order in which they were done, each with the numbers that the backward pass needs: what it is, and
 * then by what it is
 *
 * - set: slot, variance, cause
 * - mix: slot, keep, variance, cause, m, m pairs of from and by
 * - grow: slot, keep, end, mean, both, own, m, k, m pairs of from and by, k of into (see `Growth`)
 * - observe: key (−1 = none), observed less expected, variance of that, variance of the observation, cause, m, m pairs of at
 *   and by, change of each quantity per unit of the error
 * - mark: slot, key, mean, covariance with each quantity; NaN and none where only a shock is asked for
 *
 * One column of numbers, since a tape of some thousand objects costs more to clear away than to make.
 */
export interface Operations {
	data: Float64Array;
	/** Where each operation begins. */
	starts: readonly number[];
}

export const SET = 0;
export const MIX = 1;
export const GROW = 2;
export const OBSERVE = 3;
export const MARK = 4;

/** A belief that records its operations, so that they can be smoothed (see `backward`). */
export class Tape extends Belief implements Operations {
	data = new Float64Array(1024);
	readonly starts: number[] = [];
	/** Σ log density of all observations. */
	logLikelihood = 0;
	/** Key of the next observation. */
	key = -1;
	#end = 0;

	/** As `Belief.set`, with the source of the uncertainty. */
	override set(slot: number, mean: number, variance: number, cause: Cause = 'prior'): void {
		super.set(slot, mean, variance);
		const p = this.#begin(SET, 3);
		this.data[p] = slot;
		this.data[p + 1] = variance;
		this.data[p + 2] = CAUSES.indexOf(cause);
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
		const p = this.#begin(MIX, 5 + 2 * from.length);
		const { data } = this;
		data[p] = slot;
		data[p + 1] = keep;
		data[p + 2] = variance;
		data[p + 3] = CAUSES.indexOf(cause);
		this.#pairs(p + 4, p + 5, from, by);
	}

	/** As `Belief.grow`. */
	override grow(growth: Growth): void {
		super.grow(growth);
		const { from, by, into } = growth;
		const p = this.#begin(GROW, 8 + 2 * from.length + into.length);
		const { data } = this;
		data[p] = growth.slot;
		data[p + 1] = growth.keep;
		data[p + 2] = growth.end;
		data[p + 3] = growth.mean;
		data[p + 4] = growth.both;
		data[p + 5] = growth.own;
		data[p + 7] = into.length;
		const q = this.#pairs(p + 6, p + 8, from, by);
		for (let i = 0; i < into.length; i++) data[q + i] = into[i]!;
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
		const m = at.length;
		const p = this.#begin(OBSERVE, 6 + 2 * m + n);
		const { data } = this;
		const gain = this.#pairs(p + 5, p + 6, at, by);
		let error = value;
		data.fill(0, gain, gain + n);
		for (let i = 0; i < m; i++) {
			error -= by[i]! * x[at[i]!]!;
			for (let j = 0; j < n; j++) data[gain + j]! += by[i]! * P[at[i]! * n + j]!;
		}
		let S = variance;
		for (let i = 0; i < m; i++) S += by[i]! * data[gain + at[i]!]!;
		const density = super.observe(at, by, value, variance);
		if (S > 0) {
			for (let j = 0; j < n; j++) data[gain + j]! /= S;
			data[p] = this.key;
			data[p + 1] = error;
			data[p + 2] = S;
			data[p + 3] = variance;
			data[p + 4] = CAUSES.indexOf(cause);
		} else this.#end = this.starts.pop()!;
		this.key = -1;
		this.logLikelihood += density;
		return density;
	}

	/**
	 * Marks a quantity to be estimated at this moment from all observations, including later ones.
	 *
	 * @param shockOnly - it is marked for what a shock to it would gain, and is not estimated itself
	 */
	override mark(slot: number, key: number, shockOnly = false): void {
		const { n, x, P } = this;
		const p = this.#begin(MARK, shockOnly ? 3 : 3 + n);
		const { data } = this;
		data[p] = slot;
		data[p + 1] = key;
		data[p + 2] = shockOnly ? Number.NaN : x[slot]!;
		if (!shockOnly) for (let j = 0; j < n; j++) data[p + 3 + j] = P[slot * n + j]!;
	}

	/** Begins an operation with so many numbers; returns the place of the first. */
	#begin(kind: number, numbers: number): number {
		const start = this.#end;
		this.#end += 1 + numbers;
		if (this.#end > this.data.length) {
			const more = new Float64Array(2 * this.#end);
			more.set(this.data);
			this.data = more;
		}
		this.starts.push(start);
		this.data[start] = kind;
		return start + 1;
	}

	/** Writes the number of pairs, and the pairs; returns the place after them. */
	#pairs(count: number, p: number, from: readonly number[], by: readonly number[]): number {
		const { data } = this;
		data[count] = from.length;
		for (let i = 0; i < from.length; i++) {
			data[p + 2 * i] = from[i]!;
			data[p + 2 * i + 1] = by[i]!;
		}
		return p + 2 * from.length;
	}
}
