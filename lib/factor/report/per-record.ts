import { type Factor, MONITOR } from '../../model/index.ts';
import { basisAt, size } from '../form/shape.ts';
import type { FactorInput } from '../input.ts';
import type { Solved } from '../solve-weights.ts';

/** One combine's factor over the whole field. */
export interface Level {
	/** Corrected over account mass. */
	value: number;
	/** Added to the factor from the coefficients, so that the records add up to the mass brought in. */
	shift: number;
	/** Relative standard uncertainty from grain that came through while the log held nothing. */
	u_unrecorded_rel: number;
}

/** Factors and their relative standard uncertainties, one value per record. */
export interface PerRecord {
	factor: Float64Array;
	u_rel: Float64Array;
}

/**
 * Writes the factor of every record of combine c and its relative uncertainty (coefficients, scale, slow error, unrecorded
 * grain) into `to`. The records follow the factor's form and add up to the mass brought in.
 *
 * @param pinned - the whole field's factor where it was set by hand, else NaN
 */
export function levelOf(
	{ records, account }: FactorInput,
	solved: Solved,
	c: number,
	{ factor, u_rel }: PerRecord,
	pinned = Number.NaN,
): Level {
	const { tape, at } = solved;
	const shape = solved.shapes[c]!;
	const p = size(shape);
	const first = at.factor[c]!;
	const order = solved.time.orders[c]!;
	const n = tape.n;
	const u_unrecorded_rel = MONITOR.unrecorded * solved.unrecorded[c]!;
	let mass = 0;
	let sum = 0;
	for (const i of order) {
		const basis = basisAt(shape, records.time_s[i]!, solved.flows.flow[i]!);
		let value = 0;
		let variance = 0;
		for (let j = 0; j < p; j++) {
			value += basis[j]! * tape.x[first + j]!;
			for (let k = 0; k < p; k++) variance += basis[j]! * basis[k]! * tape.P[(first + j) * n + first + k]!;
		}
		factor[i] = value;
		u_rel[i] = Math.sqrt(Math.max(0, variance) / value ** 2 + solved.scatter.sigma ** 2 + u_unrecorded_rel ** 2);
		mass += account.account_kg[i]!;
		sum += account.account_kg[i]! * value;
	}
	const found = mass > 0 ? tape.x[at.brought[c]!]! / mass : tape.x[first]!;
	const value = Number.isFinite(pinned) ? pinned : found;
	const shift = mass > 0 ? value - sum / mass : 0;
	for (const i of order) factor[i]! += shift;
	return { value, shift, u_unrecorded_rel };
}

/** Covariance of the log factors, the reference included; the error of a shared cart scale cancels in a ratio. */
export function covarianceOf(solved: Solved, factors: readonly Factor[]): Float64Array {
	const C = factors.length;
	const out = new Float64Array(C * C).fill(Number.NaN);
	const { tape, at, time } = solved;
	const known = (c: number) => factors[c]!.source !== null;
	for (let a = 0; a < C; a++) {
		for (let b = 0; b < C; b++) {
			if (!known(a) || !known(b)) continue;
			const v = tape.P[at.brought[a]! * tape.n + at.brought[b]!]!;
			const mass = time.account_kg[a]! * time.account_kg[b]!;
			if (a === b) out[a * C + b] = factors[a]!.u_rel ** 2;
			else if (mass > 0) out[a * C + b] = v / (mass * factors[a]!.value * factors[b]!.value);
			else out[a * C + b] = 0;
		}
	}
	return out;
}
